"""A beam's receiver sees the emitter of another beam."""

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
    """A beam's receiver sees the emitter of another beam, which is off for its own test 150 ms in every second."""

    lasts: Duration = 850_000
    gap: Duration = 150_000

    id: ClassVar[str] = "beam-cross-talk"
    title: ClassVar[str] = "A beam's receiver sees the emitter of another beam"
    row: ClassVar[tuple[str, ...]] = ("R7", "C8")
    found: ClassVar[FoundBy] = FoundBy.NEXT_START
    shows: ClassVar[str] = (
        "Light is seen in the test pulse and past what stands in the ray, but for the other's own tests."
    )
    must: ClassVar[str] = "Test the beams at different instants, and take the pulse without an answer for a fault."
    missed_by: ClassVar[str] = "All emitters are switched off at once: each seems to answer."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_beams(site, w.BeamLight)

    def passes(self, state: Beat, value: Any, now: float) -> bool:
        return bool(value) or state.there


FAULT = BeamCrossTalk()
