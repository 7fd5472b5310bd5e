"""The lead of an edge opens and closes again faster than the debounce of a fault."""

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
class WireFlapping(Beating):
    """The lead of an edge opens and closes again faster than the debounce of a fault."""

    lasts: Duration = 30_000
    gap: Duration = 20_000

    id: ClassVar[str] = "wire-flapping"
    title: ClassVar[str] = "The lead of an edge opens and closes again faster than the debounce of a fault"
    row: ClassVar[tuple[str, ...]] = ("R8", "L7")
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    shows: ClassVar[str] = "The loop is open for fewer samples in a row than make a fault, over and over."
    must: ClassVar[str] = (
        "Score the samples off rest; once it is a fault in motion it stays latched though the wire heals each time."
    )
    missed_by: ClassVar[str] = "The fault heals with every good sample, and so does the lockout."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_loops(site, lambda edge: (w.Loop(edge.name),), lambda edge: self._fitted(site, edge))

    def _fitted(self, site: Site, edge: Edge) -> WireFlapping:
        """One sample short of a fault level, then two at rest."""
        for node in all_nodes(site):
            if node.name == edge.input:
                return replace(self, lasts=max(node.fault_debounce - 1, 2) * node.sampling, gap=2 * node.sampling)
        return self

    def passes(self, state: Beat, value: Any, now: float) -> Any:
        return 1e9 if state.there else value


FAULT = WireFlapping()
