"""Mains hum is picked up on the lead of an edge."""

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
class MainsHum(Beating):
    """Mains hum is picked up on the lead of an edge.

    Drawn as two levels, one each sample: the scan is in step with the hum, which is the case that an average hides.
    """

    lasts: Duration = 10_000
    gap: Duration = 10_000
    """Half a period of 50 Hz, or one sample of the node where that is another time."""
    swing: int = 300
    """Codes to either side."""
    full: int = 1_023

    id: ClassVar[str] = "mains-hum"
    title: ClassVar[str] = "Mains hum is picked up on the lead of an edge"
    row: ClassVar[tuple[str, ...]] = ("R12",)
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    shows: ClassVar[str] = "Codes lie above and below the band in turn, and their mean lies in it."
    must: ClassVar[str] = "Judge each sample by itself; too many off rest in a while are a fault."
    missed_by: ClassVar[str] = "Samples are averaged, and the average is at rest."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_loops(site, lambda edge: (w.Code(edge.name),), lambda edge: self._fitted(site, edge))

    def _fitted(self, site: Site, edge: Edge) -> MainsHum:
        """In step with the node's samples, and as wide as its converter allows."""
        for node in all_nodes(site):
            if node.name == edge.input:
                full = (1 << node.converter_bits) - 1
                return replace(self, lasts=node.sampling, gap=node.sampling, swing=full * 3 // 10, full=full)
        return self

    def passes(self, state: Beat, value: Any, now: float) -> Any:
        return min(value + self.swing, self.full) if state.there else max(value - self.swing, 0)


FAULT = MainsHum()
