"""A transmitter no longer hears the receiver."""

from __future__ import annotations

from typing import ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_transmitters, can_be_asked
from gatesim.plant.faults.shapes import Cut
from gatesim.plant.site import Site


class DownlinkCut(Cut):
    """A transmitter no longer hears the receiver."""

    id: ClassVar[str] = "downlink-cut"
    title: ClassVar[str] = "A transmitter no longer hears the receiver"
    row: ClassVar[tuple[str, ...]] = ("C13",)
    found: ClassVar[FoundBy] = FoundBy.NEXT_START
    shows: ClassVar[str] = "Its own frames arrive, but no request and no word of motion reaches it."
    must: ClassVar[str] = "Judge each direction of a link by its own receiver: no answer to the test, no start."
    missed_by: ClassVar[str] = "A frame that arrives is taken for a link that works both ways."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_transmitters(site, lambda node: (w.Downlink(node.name),), None, can_be_asked)


FAULT = DownlinkCut()
