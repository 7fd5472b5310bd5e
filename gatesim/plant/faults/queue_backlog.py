"""A queue before the receiver grows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_transmitters, can_be_asked
from gatesim.plant.faults.shapes import Late
from gatesim.plant.site import Site
from gatesim.units import Duration


@dataclass(frozen=True)
class QueueBacklog(Late):
    """A queue before the receiver grows."""

    more: Duration = 100_000
    """By which each frame is later than the last one."""
    most: Duration = 3_000_000

    id: ClassVar[str] = "queue-backlog"
    title: ClassVar[str] = "A queue before the receiver grows"
    row: ClassVar[tuple[str, ...]] = ("C20",)
    found: ClassVar[FoundBy] = FoundBy.NEXT_START
    shows: ClassVar[str] = "Each frame is worked off later than the one before it, up to a limit."
    must: ClassVar[str] = "Drain the queue, keep the newest, and prove its age before a move."
    missed_by: ClassVar[str] = "One frame is taken per turn, and the lag is invisible."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_transmitters(site, lambda node: (w.Heard(node.name),), None, can_be_asked)

    def delay(self, count: int) -> float:
        return min(self.more * (count + 1), self.most)


FAULT = QueueBacklog()
