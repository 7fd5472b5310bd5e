"""One of several edges side by side has lost its wire."""

from __future__ import annotations

from typing import ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_edges
from gatesim.plant.faults.shapes import Held
from gatesim.plant.loop_tables import Joining
from gatesim.plant.nets import host_of, members
from gatesim.plant.site import Edge, Site


class BranchBroken(Held):
    """One of several edges side by side has lost its wire."""

    id: ClassVar[str] = "branch-broken"
    title: ClassVar[str] = "One of several edges side by side has lost its wire"
    row: ClassVar[tuple[str, ...]] = ("R1",)
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    acts_on_begin: ClassVar[bool] = True
    shows: ClassVar[str] = "The loop reads what the edges that are left come to: of two, exactly one healthy edge."
    must: ClassVar[str] = "Hold a band for the number of edges configured; above it is a fault."
    missed_by: ClassVar[str] = "A band wide enough for one edge takes the one that is left for both."
    level: ClassVar[None] = None

    def places(self, site: Site) -> tuple[Place, ...]:
        def parallel(edge: Edge) -> bool:
            return any(one.joining is Joining.PARALLEL for one in members(site, host_of(edge)))

        return at_edges(site, lambda edge: (w.Branch(edge.name),), which=parallel)


FAULT = BranchBroken()
