"""The comparator of a converter oscillates."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_nodes
from gatesim.plant.faults.shapes import Beat, Beating
from gatesim.plant.site import Site
from gatesim.units import Duration


@dataclass(frozen=True)
class ComparatorOscillates(Beating):
    """The comparator of a converter oscillates."""

    lasts: Duration = 10_000
    gap: Duration = 10_000
    """One sample of the node each."""
    full: int = 1_023

    id: ClassVar[str] = "comparator-oscillates"
    title: ClassVar[str] = "The comparator of a converter oscillates"
    row: ClassVar[tuple[str, ...]] = ("A9",)
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    shows: ClassVar[str] = "Every loop of the node reads its code and the end of the range in turn."
    must: ClassVar[str] = "Count what changes faster than any contact; that is a fault of its own."
    missed_by: ClassVar[str] = "Every second sample is looked at, and those are all alike."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_nodes(
            site,
            lambda node, edges: tuple([w.Code(edge.name) for edge in edges]),
            lambda node: replace(
                self, lasts=node.sampling, gap=node.sampling, full=(1 << node.converter_bits) - 1),
        )

    def passes(self, state: Beat, value: Any, now: float) -> Any:
        return self.full if state.there else value


FAULT = ComparatorOscillates()
