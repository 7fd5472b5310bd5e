"""Motion agrees with the order."""

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
class WrongState:
    """A motion that no order asked for, since when, and its name."""

    limit: int | None
    driving: d.Driving = owned()
    tally: Tally = owned()
    since: int = -1
    number: int = 0
    failure: str = ""


class MotionAgreesWithOrder(Monitor):
    """A motion begun without an order, or against it, ends within the limit.  A leaf pushed from outside, or springing
    back from what
    it pressed, needs no order.
    """

    id: ClassVar[str] = "motion-agrees-with-order"
    sentence: ClassVar[str] = "The leaf moves as ordered; a motion without an order or against it is ended in time."
    quantity: ClassVar[str] = "wrong motion to standstill"
    measure: ClassVar[Measure] = Measure.US
    failures: ClassVar[tuple[str, ...]] = ("without an order", "against the order")
    source: ClassVar[Source] = OURS
    sees: ClassVar[tuple[type, ...]] = d.SEES
    needs: ClassVar[tuple[type, ...]] = d.NEEDS
    idle: ClassVar[str] = "the leaf never moved"

    def limits(self) -> dict[Profile, Limit | None]:
        """1 s: the check in the first 200 ms, and the stop."""
        return both(1_000_000, OURS)

    def begin(self, limit: int | None, site: Site) -> WrongState:
        """At rest."""
        return WrongState(limit, d.Driving(), Tally())

    def see(self, state: WrongState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        before = state.driving.order
        state.driving.see(at, event)
        if isinstance(event, e.LeafStopped | e.LeafStarted) and state.since >= 0:
            state.tally.take(at_most(at - state.since, state.limit, state.failure, state.since, (state.number, number)))
            state.since = -1
        if isinstance(event, e.LeafStarted):
            against = before is not None and event.direction is not before
            if state.driving.why is d.Why.UNORDERED or (against and state.driving.why is not d.Why.PUSHED):
                state.since, state.number = at, number
                state.failure = "against the order" if against else "without an order"
            elif state.driving.driven:
                state.tally.take(at_most(0, state.limit, "", at, (number,)))

    def open_cases(self, state: WrongState, now: int) -> Iterator[Verdict]:
        """A wrong motion that goes on."""
        if state.since >= 0:
            yield waiting(state.since, now, state.limit, state.failure, (state.number,))


REQUIREMENT = MotionAgreesWithOrder()
