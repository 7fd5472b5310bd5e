"""The profile of an edge has gone hard with frost or age."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_edges, in_the_way
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site


@dataclass(frozen=True)
class EdgeFrozenStiff(Value):
    """The profile of an edge has gone hard with frost or age."""

    edge: str = ""
    """Whose profile; empty: of every edge."""
    hardness: float = 8.0
    """Times the force at the same deflection."""

    id: ClassVar[str] = "edge-frozen-stiff"
    title: ClassVar[str] = "The profile of an edge has gone hard with frost or age"
    row: ClassVar[tuple[str, ...]] = ("R13",)
    found: ClassVar[FoundBy] = FoundBy.PRESS_TEST
    acts_on_begin: ClassVar[bool] = False
    shows: ClassVar[str] = (
        "The loop reads perfectly, but the leaf's contact pushes hard before anything gives and the strip never closes."
    )
    must: ClassVar[str] = (
        "Nothing electrical shows it: the press test is made cold, and the force sensing must meet the contact."
    )
    missed_by: ClassVar[str] = "The press test was made at room temperature only."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_edges(
            site,
            lambda edge: (in_the_way(site, edge), w.StripPressed(edge.name)),
            lambda edge: replace(self, edge=edge.name),
        )

    def passes(self, state: Any, value: Any, now: float) -> Any:
        if isinstance(value, bool):
            return False
        return tuple([self._hard(block) if block.edge and self.edge in ("", block.edge) else block for block in value])

    def _hard(self, block: w.Block) -> w.Block:
        return block._replace(curve=tuple([(d, f * self.hardness) for d, f in block.curve]), actuates=None)


FAULT = EdgeFrozenStiff()
