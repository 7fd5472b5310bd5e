"""From an end, the right leaf starts first and the other one waits its delay."""

from __future__ import annotations

from typing import ClassVar

from gatesim import events as e
from gatesim.events import Direction, Event, LeafName, Side
from gatesim.plant.part import owned, state
from gatesim.plant.site import Site
from gatesim.requirements import driving as d
from gatesim.requirements.leaf_view import ends_at_start, seen_from
from gatesim.requirements.monitor import Monitor, Tally, at_least, failed, held
from gatesim.requirements.profiles import PRACTICE
from gatesim.requirements.requirement import Source
from gatesim.requirements.verdict import Measure


@state
class WaitState:
    """Which leaf's drive was energised first from an end, and when."""

    site: Site
    driving: d.Driving = owned()
    """Of the first leaf."""
    tally: Tally = owned()
    way: Direction | None = None
    leader: LeafName = LeafName.FIRST
    at: int = 0
    number: int = 0


class FollowingLeafWaits(Monitor):
    """What is physically energised, from both leaves at the same end: the leaf on top first while opening, the leaf
    underneath first while closing; the other one its delay later, or once the first has come to its own end.

    Elsewhere on the way what the first leaf is ahead counts as waited; there the overlap is what is judged.
    """

    id: ClassVar[str] = "following-leaf-waits"
    sentence: ClassVar[str] = "From an end, the leaf whose turn it is starts first, and the other one waits its delay."
    quantity: ClassVar[str] = "first leaf energised to second leaf energised"
    measure: ClassVar[Measure] = Measure.US
    failures: ClassVar[tuple[str, ...]] = ("wrong leaf first", "too soon")
    source: ClassVar[Source] = PRACTICE
    least: ClassVar[bool] = True
    whole_gate: ClassVar[bool] = True
    sees: ClassVar[tuple[type, ...]] = (*d.SEES, e.ContactorsChanged)
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.ContactorsChanged, e.LimitReached, e.LimitLeft)
    idle: ClassVar[str] = "there are no two leaves, or no move of both began at an end"

    def begin(self, limit: int | None, site: Site) -> WaitState:
        """At rest."""
        return WaitState(site, d.Driving(ends=ends_at_start(site, LeafName.FIRST)), Tally())

    def see(self, state: WaitState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        if state.site.second_leaf is None:
            return
        state.driving.see(at, seen_from(LeafName.FIRST, event))
        if isinstance(event, e.ContactorsChanged) and event.opening != event.closing:
            self._energised(state, number, at, Direction.OPENING if event.opening else Direction.CLOSING, event.leaf)
        elif isinstance(event, e.LimitReached) and state.way is not None and event.leaf is state.leader:
            if d.END[state.way] is event.side:
                state.tally.take(held(state.at, (state.number, number), "the first leaf came to its end alone"))
                state.way = None
        elif isinstance(event, e.PowerLost) or (isinstance(event, e.OrdersChanged) and event.order is not state.way):
            state.way = None

    def _energised(self, state: WaitState, number: int, at: int, way: Direction, leaf: LeafName) -> None:
        table = state.site.second_leaf
        assert table is not None
        opening = way is Direction.OPENING
        if state.way is way and leaf is not state.leader:
            delay = table.opening_delay if opening else table.closing_delay
            waited, evidence = at - state.at, (state.number, number)
            verdict = at_least(waited, delay, "too soon", state.at, evidence)
            # Kept exactly is the rule and no close call.
            kept = held(state.at, evidence, f"it waited {waited / 1000:.0f} ms")
            state.tally.take(verdict if verdict.failure else kept)
            state.way = None
        elif state.driving.ends == ((Side.CLOSED, Side.CLOSED) if opening else (Side.OPEN, Side.OPEN)):
            if (leaf is table.opens_first) is not opening:
                state.tally.take(failed("wrong leaf first", at, (number,)))
            else:
                state.way, state.leader, state.at, state.number = way, leaf, at, number


REQUIREMENT = FollowingLeafWaits()
