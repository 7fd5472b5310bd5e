"""The radio path is jammed in bursts."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_transmitters
from gatesim.plant.faults.shapes import Beat, Beating
from gatesim.plant.site import Site, Transmitter
from gatesim.units import Duration


@dataclass(frozen=True)
class BurstLoss(Beating):
    """The radio path is jammed in bursts."""

    lasts: Duration = 5_000_000
    gap: Duration = 2_000_000

    id: ClassVar[str] = "burst-loss"
    title: ClassVar[str] = "The radio path is jammed in bursts"
    row: ClassVar[tuple[str, ...]] = ("C12",)
    found: ClassVar[FoundBy] = FoundBy.NEXT_CHECK_IN
    shows: ClassVar[str] = "Every frame within a burst is lost, and bursts outlast the watchdog."
    must: ClassVar[str] = (
        "Set watchdog and check-ins by how long bursts last, not by single losses; find each burst as a lost link."
    )
    missed_by: ClassVar[str] = "Losses are taken for independent of one another."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_transmitters(site, lambda node: (w.Uplink(node.name),), lambda node: self._fitted(site, node))

    def _fitted(self, site: Site, node: Transmitter) -> BurstLoss:
        """Bursts of one and a half watchdogs, between them two check-ins."""
        limit = site.receiver.watchdog_in_motion if site.receiver is not None else self.lasts
        return replace(self, lasts=limit * 3 // 2, gap=2 * node.checkin_in_motion)

    def relays(self, state: Beat, message: Any, now: float) -> tuple[Any, ...]:
        return () if state.there else (message,)


FAULT = BurstLoss()
