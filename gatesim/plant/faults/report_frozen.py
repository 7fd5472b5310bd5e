"""The report of an edge to the controller no longer changes."""

from __future__ import annotations

from typing import ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import all_nodes, at_edges, can_be_asked
from gatesim.plant.faults.shapes import Frozen
from gatesim.plant.site import Site


class ReportFrozen(Frozen):
    """The report of an edge to the controller no longer changes."""

    id: ClassVar[str] = "report-frozen"
    title: ClassVar[str] = "The report of an edge to the controller no longer changes"
    row: ClassVar[tuple[str, ...]] = ("A8", "X7")
    found: ClassVar[FoundBy] = FoundBy.NEXT_START
    shows: ClassVar[str] = "The last report stands for ever, a healthy one if it was healthy."
    must: ClassVar[str] = "Ask before each move and refuse the start without an answer."
    missed_by: ClassVar[str] = "A report is believed because it is there."

    def places(self, site: Site) -> tuple[Place, ...]:
        asked = [node.name for node in all_nodes(site) if can_be_asked(node)]
        every = at_edges(site, lambda edge: (w.ReportLine(edge.name),))
        return tuple([one for one, edge in zip(every, site.edges, strict=True) if edge.input in asked])


FAULT = ReportFrozen()
