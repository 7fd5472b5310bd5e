"""The radio path from a transmitter is cut."""

from __future__ import annotations

from typing import ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_transmitters
from gatesim.plant.faults.shapes import Cut
from gatesim.plant.site import Site


class LostLink(Cut):
    """The radio path from a transmitter is cut."""

    id: ClassVar[str] = "lost-link"
    title: ClassVar[str] = "The radio path from a transmitter is cut"
    row: ClassVar[tuple[str, ...]] = ("C4", "C12")
    found: ClassVar[FoundBy] = FoundBy.NEXT_CHECK_IN
    shows: ClassVar[str] = "Silence."
    must: ClassVar[str] = "Let the watchdog expire by itself within its bound, without waiting for another frame."
    missed_by: ClassVar[str] = "Misses are counted only when the next frame arrives, so silence is never found."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_transmitters(site, lambda node: (w.Uplink(node.name),))


FAULT = LostLink()
