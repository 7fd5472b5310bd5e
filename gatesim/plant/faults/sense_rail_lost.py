"""The supply of a node's sensing is lost, and its radio goes on."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_nodes
from gatesim.plant.faults.shapes import Held
from gatesim.plant.site import Site


class SenseRailLost(Held):
    """The supply of a node's sensing is lost, and its radio goes on."""

    level: ClassVar[Any] = 0

    id: ClassVar[str] = "sense-rail-lost"
    title: ClassVar[str] = "The supply of a node's sensing is lost, and its radio goes on"
    row: ClassVar[tuple[str, ...]] = ("P9", "P11")
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    shows: ClassVar[str] = "Every loop of the node reads nothing at all, in frames that come on time."
    must: ClassVar[str] = "Answer it as a press; one that lasts is a fault, however punctual the frames."
    missed_by: ClassVar[str] = "A good frame is taken for a good reading."
    as_press: ClassVar[bool] = True

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_nodes(site, lambda node, edges: tuple([w.Code(edge.name) for edge in edges]))


FAULT = SenseRailLost()
