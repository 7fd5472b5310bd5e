"""Battery low comes long before critical."""

from __future__ import annotations

from typing import ClassVar

from gatesim import events as e
from gatesim.events import Event
from gatesim.plant.part import owned, state
from gatesim.plant.site import Profile, Site
from gatesim.requirements.monitor import Monitor, Tally, at_least, failed
from gatesim.requirements.profiles import OURS, both
from gatesim.requirements.requirement import Limit, Source
from gatesim.requirements.verdict import Measure


@state
class LeadState:
    """When each transmitter flagged low, by name."""

    limit: int | None
    tally: Tally = owned()
    low: tuple[tuple[str, int, int], ...] = ()


class BatteryLowLead(Monitor):
    """From the transmitter's flag "low" to the instant at which its cell's loaded voltage physically falls under
    critical.  The limit
    holds for the coldest temperature of the site.  Until a cell is critical there is nothing to judge.
    """

    id: ClassVar[str] = "battery-low-lead"
    sentence: ClassVar[str] = "A low battery is flagged long enough before it is critical."
    quantity: ClassVar[str] = "low flagged to critical"
    measure: ClassVar[Measure] = Measure.US
    failures: ClassVar[tuple[str, ...]] = ("too short", "low never flagged")
    source: ClassVar[Source] = OURS
    least: ClassVar[bool] = True
    sees: ClassVar[tuple[type, ...]] = (e.BatteryFlagged, e.CellFell, e.CellRenewed)
    needs: ClassVar[tuple[type, ...]] = (e.BatteryFlagged, e.CellFell)
    idle: ClassVar[str] = "no cell became critical"

    def limits(self) -> dict[Profile, Limit | None]:
        """30 days."""
        return both(30 * 86_400_000_000, OURS)

    def begin(self, limit: int | None, site: Site) -> LeadState:
        """No flag."""
        return LeadState(limit, Tally())

    def see(self, state: LeadState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        if isinstance(event, e.BatteryFlagged) and event.flag == "low":
            if all(name != event.transmitter for name, _, _ in state.low):
                state.low += ((event.transmitter, at, number),)
        elif isinstance(event, e.CellRenewed):
            state.low = tuple(one for one in state.low if one[0] != event.transmitter)
        elif isinstance(event, e.CellFell) and event.figure == "critical":
            flagged = [one for one in state.low if one[0] == event.transmitter]
            if not flagged:
                state.tally.take(failed("low never flagged", at, (number,)))
            for _, since, first in flagged:
                state.tally.take(at_least(at - since, state.limit, "too short", since, (first, number)))
            state.low = tuple(one for one in state.low if one not in flagged)


REQUIREMENT = BatteryLowLead()
