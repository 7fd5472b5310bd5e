"""A stop order is obeyed, or the main shut-off acts."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Event
from gatesim.plant.part import owned, state
from gatesim.plant.site import Profile, Site
from gatesim.requirements import driving as d
from gatesim.requirements.monitor import Monitor, Tally, at_most, waiting
from gatesim.requirements.profiles import OURS, both
from gatesim.requirements.requirement import Limit, Source
from gatesim.requirements.verdict import Measure, Verdict


@state
class StopState:
    """An order that ended while the leaf moved, and when."""

    limit: int | None
    driving: d.Driving = owned()
    tally: Tally = owned()
    since: int = -1
    number: int = 0


class StopObeyed(Monitor):
    """From the end of the order to standstill, or to the opening of the main shut-off, whichever comes first."""

    id: ClassVar[str] = "stop-obeyed"
    sentence: ClassVar[str] = "When the order ends, the leaf comes to rest in time, or the main shut-off opens."
    quantity: ClassVar[str] = "end of the order to standstill or shut-off"
    measure: ClassVar[Measure] = Measure.US
    failures: ClassVar[tuple[str, ...]] = ("not obeyed",)
    source: ClassVar[Source] = OURS
    sees: ClassVar[tuple[type, ...]] = (*d.SEES, e.MainChanged)
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.MainChanged)
    idle: ClassVar[str] = "no order ended while the leaf moved"

    def limits(self) -> dict[Profile, Limit | None]:
        """1 s."""
        return both(1_000_000, OURS)

    def begin(self, limit: int | None, site: Site) -> StopState:
        """At rest."""
        return StopState(limit, d.Driving(), Tally())

    def see(self, state: StopState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        before = state.driving.order
        moving = state.driving.direction is not None
        state.driving.see(at, event)
        shut = isinstance(event, e.MainChanged) and not event.closed
        if state.since >= 0 and (shut or isinstance(event, e.LeafStopped)):
            state.tally.take(at_most(at - state.since, state.limit, "not obeyed", state.since, (state.number, number)))
            state.since = -1
        elif isinstance(event, e.OrdersChanged) and moving:
            if before is not None and state.driving.order is not before:
                state.since, state.number = at, number
            elif state.since >= 0 and state.driving.order is state.driving.direction:
                state.since = -1
        elif isinstance(event, e.PowerLost):
            state.since = -1

    def open_cases(self, state: StopState, now: int) -> Iterator[Verdict]:
        """A stop that is still awaited."""
        if state.since >= 0:
            yield waiting(state.since, now, state.limit, "not obeyed", (state.number,))


REQUIREMENT = StopObeyed()
