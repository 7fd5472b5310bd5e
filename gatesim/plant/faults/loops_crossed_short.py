"""The loops of two edges on one node touch each other."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_nodes
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site


class LoopsCrossedShort(Value):
    """The loops of two edges on one node touch each other."""

    id: ClassVar[str] = "loops-crossed-short"
    title: ClassVar[str] = "The loops of two edges on one node touch each other"
    row: ClassVar[tuple[str, ...]] = ("R7",)
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    shows: ClassVar[str] = "Each loop has the other beside it, and both read about half."
    must: ClassVar[str] = "Drive and sample the loops one after the other, and take what is under the band for a press."
    missed_by: ClassVar[str] = (
        "Both loops are driven at once, so that no current flows between them and both read in band."
    )

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_nodes(site, lambda node, edges: tuple([w.Loop(edge.name) for edge in edges]), least=2)

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return value / 2


FAULT = LoopsCrossedShort()
