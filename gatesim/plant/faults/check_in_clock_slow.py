"""A transmitter's own clock runs slow."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_transmitters
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site, Transmitter


@dataclass(frozen=True)
class CheckInClockSlow(Value):
    """A transmitter's own clock runs slow."""

    factor: float = 8.0
    """Times the period that it should keep."""

    id: ClassVar[str] = "check-in-clock-slow"
    title: ClassVar[str] = "A transmitter's own clock runs slow"
    row: ClassVar[tuple[str, ...]] = ("T2", "T13")
    found: ClassVar[FoundBy] = FoundBy.NEXT_CHECK_IN
    shows: ClassVar[str] = "Check-ins come too rarely while everything else about them is in order."
    must: ClassVar[str] = "Let the watchdog expire on silence in time, by the receiver's own clock."
    missed_by: ClassVar[str] = "Missed check-ins are counted only when the next one arrives."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_transmitters(site, lambda node: (w.CheckInClock(node.name),), lambda node: self._fitted(site, node))

    def _fitted(self, site: Site, node: Transmitter) -> CheckInClockSlow:
        """A period in motion of twice the watchdog."""
        limit = site.receiver.watchdog_in_motion if site.receiver is not None else node.checkin_in_motion
        return replace(self, factor=max(2 * limit / node.checkin_in_motion, 2.0))

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return value * self.factor


FAULT = CheckInClockSlow()
