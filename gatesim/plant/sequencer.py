"""The operator's output stage on a site of two leaves: from the controller's one order to an order for each leaf.

Order, delay and overlap are kept from every position, so on a reversal as well (docs/timing.md, section 12; why so:
decision 0010).  The leaf *on top* opens first and closes last.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import Direction, LeafName, Stimulus
from gatesim.plant.dynamics import weakest_stop
from gatesim.plant.given import Given
from gatesim.plant.leaves import LeafTable, as_leaf, leaves, named
from gatesim.plant.motion import Marks, at, marks, settle
from gatesim.plant.part import Bench, Out, Part, Phase, Wire, state
from gatesim.plant.site import Drive, SecondLeaf, Site
from gatesim.plant.travel_sensor import Travelled
from gatesim.plant.wires import Counts, LimitSwitch, Order, Supply, Watch
from gatesim.units import FOREVER

NOWHERE: Marks = Marks(1, (), 0)
"""No place is waited for."""


def run_out(drive: Drive, speed: float, deceleration: float) -> float:
    """How far a leaf still goes from this speed after its order has ended (um): v d + v² / 2 a."""
    return speed * drive.stopping_delay + speed * speed / (2 * deceleration)


@state
class SequencerState:
    """The controller's order since when, and the places that the leaves wait for."""

    order: Direction | None
    last: Direction | None
    """The order before it, unless the supply was lost since."""
    waits_until: float
    """Until when the leaf that follows waits."""
    known: tuple[bool, bool]
    bases: tuple[float, float]
    """Where each leaf stood when the order began."""
    back_to: tuple[float, float]
    """Where each leaf stood when the order before it began."""
    free: Marks
    """Whether the leaf on top is open far enough for the other to be off its closed end."""
    hold: Marks
    """Whether the closing leaf on top has come to where it must wait for the other."""
    back: Marks
    """Whether the leaf that follows is back where it came from."""


@dataclass(frozen=True, slots=True)
class Sequencer:
    """Gives each leaf its order.  `top` is the index of the leaf on top (0: the first)."""

    table: SecondLeaf
    leaves: tuple[LeafTable, LeafTable]
    top: int
    deceleration: float
    """The least with which the leaf on top stops (um/us^2)."""
    name: str = ""
    phase: ClassVar[Phase] = Phase.DRIVE
    rank: ClassVar[int] = 10
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    def reads(self) -> tuple[Wire, ...]:
        ends = [LimitSwitch(named(one.of, side)) for side in ("closed", "open") for one in self.leaves]
        return (Order(), Supply(), *(Counts(one.of) for one in self.leaves), *ends)

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return tuple((Order(one.order), (None, False)) for one in self.leaves)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> SequencerState:
        here = (self.leaves[0].leaf_at, self.leaves[1].leaf_at)
        return SequencerState(None, None, 0.0, (False, False), here, here, NOWHERE, NOWHERE, NOWHERE)

    def react(self, state: SequencerState, now: float, seen: list[Any], out: Out) -> float:
        (order, slow), supply, *rest = seen
        counts, closed, opened = rest[:2], rest[2:4], rest[4:]
        if not supply:
            order, state.last = None, None
        self._follow(state, counts, now)
        if order is not state.order:
            if state.order is not None and supply:
                state.last, state.back_to = state.order, state.bases
            state.order, state.back = order, NOWHERE
            if order is not None:
                self._begun(state, order, closed if order is Direction.OPENING else opened, counts, now)
        ended = opened if order is Direction.OPENING else closed
        goes = [False, False] if order is None else self._goes(state, order, now, ended, closed)
        for k in (0, 1):
            going = order is not None and goes[k] and not ended[k]
            out.put(k, (order if going else None, slow and going))
        return self._due(state, now)

    def _follow(self, state: SequencerState, counts: list[Travelled], now: float) -> None:
        """Bring the places up to now; a position that has just become known (or worthless) is measured anew."""
        known = (counts[0].known, counts[1].known)
        top, follower = counts[self.top].pieces, counts[self._follower(state.order)].pieces
        if known != state.known:
            state.known = known
            state.bases = state.back_to = (at(counts[0].pieces, now)[0], at(counts[1].pieces, now)[0])
            state.back = NOWHERE
            state.free = marks(1, (self.table.overlap,), top, now)
            state.hold = marks(-1, (self._hold_at,), top, now)
        else:
            state.free = settle(state.free, top, now)
            state.hold = settle(state.hold, top, now)
            state.back = settle(state.back, follower, now)

    @property
    def _hold_at(self) -> float:
        """Where the order of the closing leaf on top ends so that it stands before the overlap."""
        drive = self.leaves[self.top].drive
        return self.table.overlap + run_out(drive, max(drive.speed_closing, drive.slow_speed), self.deceleration)

    def _follower(self, order: Direction | None) -> int:
        """The leaf that starts second: the one underneath while opening, the one on top while closing."""
        return self.top if order is Direction.CLOSING else 1 - self.top

    def _begun(self, state: SequencerState, order: Direction, behind: list[bool], counts: list[Travelled],
               now: float) -> None:
        """An order has come.  `behind`: which leaves stand at the end that they start from.

        The delay counts from there.  Whoever turns back on the way waits for nobody.
        """
        state.bases = (at(counts[0].pieces, now)[0], at(counts[1].pieces, now)[0])
        second = self._follower(order)
        delay = self.table.opening_delay if order is Direction.OPENING else self.table.closing_delay
        turns = state.last is order.other and not all(behind)
        state.waits_until = now + delay if behind[second] and not turns else now
        if turns:
            state.back = marks(order.sign, (state.back_to[second],), counts[second].pieces, now)

    def _goes(self, state: SequencerState, order: Direction, now: float, ended: list[bool],
              closed: list[bool]) -> list[bool]:
        """Which leaf may move now."""
        second, top, under = self._follower(order), self.top, 1 - self.top
        goes = [True, True]
        goes[second] = ended[1 - second] or now >= state.waits_until
        sure = state.known[top]
        if order is Direction.OPENING:
            free = state.free.passed > 0 if sure else not closed[under] or ended[top]
            goes[under] = goes[under] and free
        else:
            goes[under] = state.free.passed > 0 if sure else not closed[top]
            # Nobody knows where it is: no farther than it came from, until the other one is closed.
            back = bool(state.back.at) and not state.back.passed
            goes[top] = goes[top] and (closed[under] or (not state.hold.passed if sure else back))
        return goes

    def _due(self, state: SequencerState, now: float) -> float:
        if state.order is None:
            return FOREVER
        due = min(state.free.due, state.hold.due, state.back.due)
        return state.waits_until if now < state.waits_until < due else due


def parts(site: Site, bench: Bench) -> Iterable[Part]:
    """The output stage of a site of two leaves."""
    if site.second_leaf is None:
        return
    first, second = leaves(site)
    top = 0 if site.second_leaf.opens_first is LeafName.FIRST else 1
    on_top = as_leaf(site, (first, second)[top].leaf)
    yield Sequencer(site.second_leaf, (first, second), top, weakest_stop(on_top))
    for one in (first, second):
        yield Given(Watch(one.order), None)
