"""The strip's contact chatters in presses shorter than the debounce."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import all_nodes, at_loops
from gatesim.plant.faults.shapes import Beat, Beating
from gatesim.plant.site import Edge, Site
from gatesim.units import Duration


@dataclass(frozen=True)
class Chatter(Beating):
    """The strip's contact chatters in presses shorter than the debounce."""

    lasts: Duration = 10_000
    gap: Duration = 10_000

    id: ClassVar[str] = "chatter"
    title: ClassVar[str] = "The strip's contact chatters in presses shorter than the debounce"
    row: ClassVar[tuple[str, ...]] = ("R8",)
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    shows: ClassVar[str] = "The loop is short for fewer samples in a row than make a press, over and over."
    must: ClassVar[str] = (
        "Count samples off rest in a score that leaks: too many in a while are a fault though none lasted."
    )
    missed_by: ClassVar[str] = "Every good sample clears the count, so the chatter is never seen."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_loops(site, lambda edge: (w.Loop(edge.name),), lambda edge: self._fitted(site, edge))

    def _fitted(self, site: Site, edge: Edge) -> Chatter:
        """As many samples as the debounce just throws away, then one at rest."""
        for node in all_nodes(site):
            if node.name == edge.input:
                return replace(self, lasts=max(node.debounce - 1, 1) * node.sampling, gap=node.sampling)
        return self

    def passes(self, state: Beat, value: Any, now: float) -> Any:
        return min(value, 0.5) if state.there else value


FAULT = Chatter()
