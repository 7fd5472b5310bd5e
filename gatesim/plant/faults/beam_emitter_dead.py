"""A beam's emitter is dead."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_beams
from gatesim.plant.faults.shapes import Held
from gatesim.plant.site import Site


class BeamEmitterDead(Held):
    """A beam's emitter gives no light."""

    level: ClassVar[Any] = False

    id: ClassVar[str] = "beam-emitter-dead"
    title: ClassVar[str] = "A beam's emitter gives no light"
    row: ClassVar[tuple[str, ...]] = ("P9",)
    found: ClassVar[FoundBy] = FoundBy.NEXT_START
    shows: ClassVar[str] = "The ray goes dark, and the output opens after the response time."
    must: ClassVar[str] = "Take it for an interruption: stop and reverse in motion, refuse the start while it lasts."
    missed_by: ClassVar[str] = "No light at rest is taken for a beam switched off to save power."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_beams(site, w.BeamEmitter)


FAULT = BeamEmitterDead()
