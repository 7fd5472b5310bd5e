"""A beam's emitter does not follow the test."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_beams
from gatesim.plant.faults.shapes import Held
from gatesim.plant.site import Site


class BeamTestPulseIgnored(Held):
    """A beam's emitter stays on in the test pulse."""

    level: ClassVar[Any] = True

    id: ClassVar[str] = "beam-test-pulse-ignored"
    title: ClassVar[str] = "A beam's emitter stays on in the test pulse"
    row: ClassVar[tuple[str, ...]] = ("X7",)
    found: ClassVar[FoundBy] = FoundBy.NEXT_START
    shows: ClassVar[str] = "The output stays closed in the test pulse; an interruption still opens it."
    must: ClassVar[str] = "Take the pulse without an answer for a fault: a test that shows nothing was not passed."
    missed_by: ClassVar[str] = "No failed test counts as a passed one."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_beams(site, w.BeamEmitter)


FAULT = BeamTestPulseIgnored()
