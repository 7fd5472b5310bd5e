"""A beam's receiver is dazzled."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_beams
from gatesim.plant.faults.shapes import Held
from gatesim.plant.site import Site


class BeamDazzled(Held):
    """Sunlight or a lamp in a beam's receiver: it sees light whatever the emitter does."""

    level: ClassVar[Any] = True

    id: ClassVar[str] = "beam-dazzled"
    title: ClassVar[str] = "A beam's receiver is dazzled, as by low sun"
    row: ClassVar[tuple[str, ...]] = ("A1",)
    found: ClassVar[FoundBy] = FoundBy.NEXT_START
    shows: ClassVar[str] = "Light is seen in the test pulse, and whatever stands in the ray."
    must: ClassVar[str] = "Take the pulse without an answer for a fault: the test must change the reading."
    missed_by: ClassVar[str] = "The pulse is shorter than what the receiver takes to notice, and passes for answered."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_beams(site, w.BeamLight)


FAULT = BeamDazzled()
