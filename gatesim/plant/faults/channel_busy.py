"""A transmitter that never stops sending keeps the radio channel busy."""

from __future__ import annotations

from typing import ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import edges_of, guard_of
from gatesim.plant.faults.shapes import Cut
from gatesim.plant.site import Site


class ChannelBusy(Cut):
    """A transmitter that never stops sending keeps the radio channel busy."""

    id: ClassVar[str] = "channel-busy"
    title: ClassVar[str] = "A transmitter that never stops sending keeps the radio channel busy"
    row: ClassVar[tuple[str, ...]] = ("C14",)
    found: ClassVar[FoundBy] = FoundBy.NEXT_CHECK_IN
    shows: ClassVar[str] = "All links fall silent at once, although every transmitter sends."
    must: ClassVar[str] = "Let every watchdog expire within its bound; nobody waits for a free channel without end."
    missed_by: ClassVar[str] = "A transmitter waits for a free channel for ever, and its silence is excused."

    def places(self, site: Site) -> tuple[Place, ...]:
        nodes = [node for node in site.transmitters if edges_of(site, node.name)]
        if not nodes:
            return ()
        edges = [edge for node in nodes for edge in edges_of(site, node.name)]
        return (Place("radio channel", tuple([w.Uplink(node.name) for node in nodes]), guard_of(site, edges)),)


FAULT = ChannelBusy()
