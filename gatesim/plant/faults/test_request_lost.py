"""The controller's test request reaches no device."""

from __future__ import annotations

from typing import ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import all_nodes, can_be_asked, guard_of
from gatesim.plant.faults.shapes import Frozen
from gatesim.plant.site import Monitoring, Site


class TestRequestLost(Frozen):
    """The controller's test request reaches no device."""

    id: ClassVar[str] = "test-request-lost"
    title: ClassVar[str] = "The controller's test request reaches no device"
    row: ClassVar[tuple[str, ...]] = ("X7",)
    found: ClassVar[FoundBy] = FoundBy.NEXT_START
    shows: ClassVar[str] = "No device answers the test before a move."
    must: ClassVar[str] = "Refuse the start: a test that did not take place was not passed."
    missed_by: ClassVar[str] = "No failed test counts as a passed one."

    def places(self, site: Site) -> tuple[Place, ...]:
        nodes = [node.name for node in all_nodes(site) if can_be_asked(node)]
        edges = [edge for edge in site.edges if edge.input in nodes]
        beams = [beam for beam in site.beams if beam.monitoring is Monitoring.BEFORE_EACH_MOVE]
        return (Place("test request", (w.Ask(),), guard_of(site, edges, beams)),) if edges or beams else ()


FAULT = TestRequestLost()
