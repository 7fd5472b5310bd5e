"""A beam's output is stuck closed."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_beams
from gatesim.plant.faults.shapes import Held
from gatesim.plant.site import Site


class BeamOutputStuckClear(Held):
    """A beam's output is stuck closed, as if the ray were clear."""

    level: ClassVar[Any] = True

    id: ClassVar[str] = "beam-output-stuck-clear"
    title: ClassVar[str] = "A beam's output is stuck closed, as if clear"
    row: ClassVar[tuple[str, ...]] = ("A8",)
    found: ClassVar[FoundBy] = FoundBy.NEXT_START
    shows: ClassVar[str] = "The output stays closed in the test pulse, and whatever stands in the ray."
    must: ClassVar[str] = "Take the pulse without an answer for a fault: refuse the start, latch."
    missed_by: ClassVar[str] = "The pulse is sent and its answer is never looked at."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_beams(site, w.BeamOutput)


FAULT = BeamOutputStuckClear()
