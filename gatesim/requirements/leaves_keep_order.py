"""The leaf underneath is off its closed end only while the leaf on top is open far enough."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Event, LeafName, Side
from gatesim.plant.leaves import leaves
from gatesim.plant.part import owned, state
from gatesim.plant.site import Site
from gatesim.requirements import driving as d
from gatesim.requirements.leaf_view import seen_from
from gatesim.requirements.monitor import Monitor, Tally, at_least
from gatesim.requirements.profiles import PRACTICE
from gatesim.requirements.requirement import Source
from gatesim.requirements.verdict import Measure, Verdict
from gatesim.units import us


@state
class OverlapState:
    """Where the leaf on top is, and how little it was open while the other one was off its closed end."""

    overlap: int
    top: LeafName
    two: bool
    driving: d.Driving = owned()
    """Of the leaf on top."""
    tally: Tally = owned()
    off: bool = False
    top_closed: bool = True
    pushed: bool = False
    at: int = 0
    number: int = 0
    least: int = 0


class LeavesKeepOrder(Monitor):
    """What the leaves physically do, from the limit switch of the leaf underneath to its closing again.

    Not judged from the moment at which a leaf was moved from outside until both are closed.  The figure is the site's
    own overlap.
    """

    id: ClassVar[str] = "leaves-keep-order"
    sentence: ClassVar[str] = "The leaf underneath leaves its closed end only while the leaf on top is out of its way."
    quantity: ClassVar[str] = "least opening of the leaf on top while the other is not closed"
    measure: ClassVar[Measure] = Measure.UM
    failures: ClassVar[tuple[str, ...]] = ("overlap not kept",)
    source: ClassVar[Source] = PRACTICE
    least: ClassVar[bool] = True
    whole_gate: ClassVar[bool] = True
    sees: ClassVar[tuple[type, ...]] = d.SEES
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.MotionChanged, e.LimitLeft, e.LimitReached)
    idle: ClassVar[str] = "there are no two leaves, or the one underneath never left its closed end"

    def begin(self, limit: int | None, site: Site) -> OverlapState:
        """Where the leaves stand."""
        second = site.second_leaf
        if second is None:
            return OverlapState(0, LeafName.FIRST, False, d.Driving(), Tally())
        one, two = leaves(site)
        top, under = (one, two) if second.opens_first is LeafName.FIRST else (two, one)
        driving = d.Driving(motion=(top.leaf_at, 0, 0))
        off = under.leaf_at > under.drive.limit_lead
        closed = top.leaf_at <= top.drive.limit_lead
        return OverlapState(us(second.overlap), top.leaf, True, driving, Tally(), off, closed, least=us(top.leaf_at))

    def see(self, state: OverlapState, number: int, at: int, event: Event) -> None:
        """Take one event.  Between two of them the leaf on top moves one way, so its least is at an event."""
        if not state.two:
            return
        state.driving.see(at, seen_from(state.top, event))
        if isinstance(event, e.LeafPushed):
            state.pushed, state.off = True, False
        elif isinstance(event, e.LimitReached | e.LimitLeft) and event.side is Side.CLOSED:
            closed = isinstance(event, e.LimitReached)
            if event.leaf is state.top:
                state.top_closed = closed
            else:
                self._under(state, number, at, closed)
            if closed and state.top_closed and not state.off:
                state.pushed = False
        if state.off:
            state.least = min(state.least, state.driving.position(at))

    def _under(self, state: OverlapState, number: int, at: int, closed: bool) -> None:
        if closed and state.off:
            state.tally.take(self._judged(state, number))
            state.off = False
        elif not closed and not state.pushed:
            state.off, state.at, state.number, state.least = True, at, number, state.driving.position(at)

    def _judged(self, state: OverlapState, *numbers: int) -> Verdict:
        return at_least(state.least, state.overlap, "overlap not kept", state.at, (state.number, *numbers))

    def open_cases(self, state: OverlapState, now: int) -> Iterator[Verdict]:
        """The leaf underneath is not closed yet."""
        if state.off:
            state.least = min(state.least, state.driving.position(now))
            yield self._judged(state)


REQUIREMENT = LeavesKeepOrder()
