"""A beam's receiver sees an emitter that is not its own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_beams
from gatesim.plant.faults.shapes import Beat, Beating
from gatesim.plant.site import Site
from gatesim.units import Duration


@dataclass(frozen=True)
class BeamCrossTalk(Beating):
    """A beam's receiver sees an emitter of somebody else, which is off for its own test 60 ms in every second.

    A test that falls right into the other's own seems to be answered.
    """

    lasts: Duration = 940_000
    gap: Duration = 60_000

    id: ClassVar[str] = "beam-cross-talk"
    title: ClassVar[str] = "A beam's receiver sees an emitter that is not its own"
    row: ClassVar[tuple[str, ...]] = ("C8",)
    found: ClassVar[FoundBy] = FoundBy.NEXT_START
    shows: ClassVar[str] = (
        "Light is seen in the test pulse and past what stands in the ray, but for the other's own tests."
    )
    must: ClassVar[str] = "Take light without the own emitter for a fault: refuse the start, latch."
    missed_by: ClassVar[str] = "Any light is taken for the own emitter's."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_beams(site, w.BeamLight)

    def passes(self, state: Beat, value: Any, now: float) -> bool:
        return bool(value) or state.there


FAULT = BeamCrossTalk()
