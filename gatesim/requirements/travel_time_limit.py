"""The travel time is limited."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Direction, Event
from gatesim.plant.part import owned, state
from gatesim.plant.site import Site
from gatesim.requirements import driving as d
from gatesim.requirements.monitor import Monitor, Tally, at_most, failed, waiting
from gatesim.requirements.profiles import OURS
from gatesim.requirements.requirement import Source
from gatesim.requirements.verdict import Measure, Verdict


@state
class TravelTimeState:
    """Since when the drive turns, and whether it was switched off by time."""

    limit: int | None
    opening: int
    closing: int
    driving: d.Driving = owned()
    tally: Tally = owned()
    way: Direction | None = None
    since: int = -1
    number: int = 0
    over: int = -1


class TravelTimeLimit(Monitor):
    """From the drive energised in one direction to de-energised, outside hold-to-run, against the site's own travel
    time for that
    direction; a limit given counts where it is less.  Reaching the limit stops and locks out: no reversal follows
    without a command.
    """

    id: ClassVar[str] = "travel-time-limit"
    sentence: ClassVar[str] = "The drive turns no longer than the travel time of the site, and then does not reverse."
    quantity: ClassVar[str] = "drive energised"
    measure: ClassVar[Measure] = Measure.US
    failures: ClassVar[tuple[str, ...]] = ("goes on", "reversed")
    source: ClassVar[Source] = OURS
    sees: ClassVar[tuple[type, ...]] = (*d.SEES, e.ContactorsChanged)
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.ContactorsChanged)
    idle: ClassVar[str] = "the drive never turned outside hold-to-run"

    def begin(self, limit: int | None, site: Site) -> TravelTimeState:
        """At rest."""
        table = site.controller
        return TravelTimeState(limit, table.travel_time_opening, table.travel_time_closing, d.Driving(), Tally())

    def see(self, state: TravelTimeState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        state.driving.see(at, event)
        if isinstance(event, e.ContactorsChanged):
            way = None
            if event.opening != event.closing:
                way = Direction.OPENING if event.opening else Direction.CLOSING
            if way is not state.way:
                self._ended(state, number, at)
                state.way, state.since, state.number = way, at if way is not None else -1, number
        elif isinstance(event, e.LeafStarted) and state.over >= 0:
            if state.driving.why is d.Why.REVERSAL:
                state.tally.take(failed("reversed", at, (state.over, number)))
            state.over = -1
        elif d.is_fresh(event):
            state.over = -1

    def _limit(self, state: TravelTimeState) -> int:
        own = state.opening if state.way is Direction.OPENING else state.closing
        return own if state.limit is None else min(own, state.limit)

    def _ended(self, state: TravelTimeState, number: int, at: int) -> None:
        if state.since >= 0 and state.driving.kind is not d.Why.HOLD:
            limit = self._limit(state)
            state.tally.take(at_most(at - state.since, limit, "goes on", state.since, (state.number, number)))
            if at - state.since >= limit and not state.driving.completed:
                state.over = number

    def open_cases(self, state: TravelTimeState, now: int) -> Iterator[Verdict]:
        """A drive that still turns."""
        if state.since >= 0 and state.driving.kind is not d.Why.HOLD:
            yield waiting(state.since, now, self._limit(state), "goes on", (state.number,))


REQUIREMENT = TravelTimeLimit()
