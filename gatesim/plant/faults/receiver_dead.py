"""The receiver gives no good report any more."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import edges_of, guard_of
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site


class ReceiverDead(Value):
    """The receiver gives no good report any more."""

    id: ClassVar[str] = "receiver-dead"
    title: ClassVar[str] = "The receiver gives no good report any more"
    row: ClassVar[tuple[str, ...]] = ("C11", "T12")
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    acts_on_begin: ClassVar[bool] = False
    shows: ClassVar[str] = "No report of any radio edge is fresh."
    must: ClassVar[str] = (
        "Treat what is not fresh as a fault in motion; with no way back guarded, stop without reversing."
    )
    missed_by: ClassVar[str] = "The last report stands until a new one comes."

    def places(self, site: Site) -> tuple[Place, ...]:
        edges = [edge for node in site.transmitters for edge in edges_of(site, node.name)]
        lines = tuple([w.ReportLine(edge.name) for edge in edges])
        return (Place("receiver", lines, guard_of(site, edges)),) if lines and site.receiver is not None else ()

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return value._replace(fresh=False)


FAULT = ReceiverDead()
