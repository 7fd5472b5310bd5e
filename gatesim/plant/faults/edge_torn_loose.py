"""An edge hangs loose from the leaf, its loop whole."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_edges, in_the_way
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site


@dataclass(frozen=True)
class EdgeTornLoose(Value):
    """An edge hangs loose from the leaf, its loop whole."""

    edge: str = ""
    """Which edge; empty: all."""

    id: ClassVar[str] = "edge-torn-loose"
    title: ClassVar[str] = "An edge hangs loose from the leaf, its loop whole"
    row: ClassVar[tuple[str, ...]] = ("R14",)
    found: ClassVar[FoundBy] = FoundBy.PRESS_TEST
    acts_on_begin: ClassVar[bool] = False
    shows: ClassVar[str] = (
        "The loop reads perfectly; where the leaf meets an obstruction the profile gives way without pressing "
        "its strip together."
    )
    must: ClassVar[str] = (
        "Nothing electrical shows it: the press test covers the whole length, and the force sensing must meet "
        "the contact."
    )
    missed_by: ClassVar[str] = "One press in the middle was enough."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_edges(site, lambda edge: (in_the_way(site, edge),), lambda edge: replace(self, edge=edge.name))

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return tuple(
            [
                block._replace(actuates=None) if block.edge and self.edge in ("", block.edge) else block
                for block in value
            ]
        )


FAULT = EdgeTornLoose()
