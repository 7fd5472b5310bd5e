"""A wire of a beam's output is off."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_beams
from gatesim.plant.faults.shapes import Held
from gatesim.plant.site import Site


class BeamOutputStuckInterrupted(Held):
    """A wire of a beam's output is off: it reads open, as if the ray were interrupted."""

    level: ClassVar[Any] = False

    id: ClassVar[str] = "beam-output-stuck-interrupted"
    title: ClassVar[str] = "A wire of a beam's output is off"
    row: ClassVar[tuple[str, ...]] = ("R1",)
    found: ClassVar[FoundBy] = FoundBy.NEXT_START
    shows: ClassVar[str] = "The output is open at once, as if the ray were interrupted, and stays so."
    must: ClassVar[str] = "Take it for an interruption: stop and reverse in motion, refuse the start while it lasts."
    missed_by: ClassVar[str] = "An interruption that lasts is taken for a car that has been forgotten, and ignored."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_beams(site, w.BeamOutput)


FAULT = BeamOutputStuckInterrupted()
