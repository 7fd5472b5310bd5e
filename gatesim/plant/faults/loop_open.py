"""The lead of an edge is broken, or its plug is off."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_loops, closes
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site
from gatesim.units import Resistance


@dataclass(frozen=True)
class LoopOpen(Value):
    """The lead of an edge is broken, or its plug is off."""

    ohm: Resistance = 1e9

    id: ClassVar[str] = "loop-open"
    title: ClassVar[str] = "The lead of an edge is broken, or its plug is off"
    row: ClassVar[tuple[str, ...]] = ("R1",)
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    shows: ClassVar[str] = "The loop reads as an open circuit, whatever the strip does."
    must: ClassVar[str] = (
        "Take an open loop for a fault, never for a strip at rest: stop and reverse, refuse the start, latch."
    )
    missed_by: ClassVar[str] = "Only a reading under the band is looked for, so an open loop counts as not pressed."

    def places(self, site: Site) -> tuple[Place, ...]:
        opening = {edge.name for edge in site.edges if not closes(edge)}
        return tuple(place._replace(as_press=place.device in opening)
                     for place in at_loops(site, lambda edge: (w.Loop(edge.name),)))

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return self.ohm


FAULT = LoopOpen()
