"""The lead of an edge is crushed: a dead short."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_loops
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site
from gatesim.units import Resistance


@dataclass(frozen=True)
class LoopShort(Value):
    """The lead of an edge is crushed: a dead short."""

    ohm: Resistance = 0.5
    """At the converter's terminals."""

    id: ClassVar[str] = "loop-short"
    title: ClassVar[str] = "The lead of an edge is crushed: a dead short"
    row: ClassVar[tuple[str, ...]] = ("R2",)
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    as_press: ClassVar[bool] = True
    shows: ClassVar[str] = (
        "The loop reads next to nothing for as long as the fault lasts, like a hard press that never ends."
    )
    must: ClassVar[str] = (
        "Answer the demand, then treat a press that outlasts its limit at rest as a fault and lock out."
    )
    missed_by: ClassVar[str] = (
        "Only the beginning of a press is looked at: without a new beginning the next move is allowed."
    )

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_loops(site, lambda edge: (w.Loop(edge.name),))

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return self.ohm


FAULT = LoopShort()
