"""What the controller of two leaves is told of both together: one process image.

At an end where both are, moving where either does, a force trip where either has one, ready where both are.  The
position is the sum of both openings: the clear opening between the leaves.  A read-back says otherwise than ordered
where either leaf does not do what its own order says.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import Direction, Side, Stimulus
from gatesim.plant.leaves import BOTH, LeafTable, leaves, named
from gatesim.plant.motion import Pieces, at, first_crossing, onward
from gatesim.plant.part import Bench, Out, Part, Phase, Wire, state
from gatesim.plant.site import Site
from gatesim.plant.travel_sensor import Travelled
from gatesim.plant.wires import (
    ContactorReadBack,
    Counts,
    ForceReady,
    ForceTrip,
    LimitSwitch,
    Order,
    Piece,
    Watch,
)
from gatesim.units import FOREVER

AGREES = 150_000.0
"""How far a limit switch and the measured position of a leaf may disagree (ours), um."""
Pair = tuple[LeafTable, LeafTable]


def together(first: Pieces, second: Pieces, now: float) -> Pieces:
    """The sum of two motions from now on: constant acceleration between the turns of either."""
    mine, other = onward(first, now), onward(second, now)
    made = []
    for t in sorted({piece.t for piece in (*mine, *other)}):
        one, two = _on(mine, t), _on(other, t)
        made.append(Piece(t, one.x + two.x, one.v + two.v, one.a + two.a))
    return tuple(made)


def _on(pieces: Pieces, t: float) -> Piece:
    """The piece of a motion that begins at t."""
    held = [piece for piece in pieces if piece.t <= t][-1]
    x, v = at((held,), t)
    return Piece(t, x, v, held.a)


def moving(ways: Iterable[Direction | None], order: Direction | None) -> Direction | None:
    """Which way the leaves move; where they move apart, the way against the order."""
    found = {way for way in ways if way is not None}
    if len(found) < 2:
        return next(iter(found), None)
    return Direction.OPENING if order is None else order.other


@state
class CountsState:
    """The counts of both leaves, their sum, and the watch."""

    given: tuple[Any, ...]
    measured: Pieces
    watch: float | None
    crossings: int
    side: int
    due: float


@dataclass(frozen=True, slots=True)
class CountsOfBoth:
    """The sum of two travel sensors, and the position compare on it."""

    leaves: Pair
    name: str = ""
    phase: ClassVar[Phase] = Phase.SENSE
    rank: ClassVar[int] = 90
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    def reads(self) -> tuple[Wire, ...]:
        return (*(Counts(one.of) for one in self.leaves), Watch(), Order())

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((Counts(BOTH), Travelled(self.initial().measured, True, None, 0)),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> CountsState:
        here = Piece(0.0, self.leaves[0].leaf_at + self.leaves[1].leaf_at, 0.0, 0.0)
        return CountsState((), (here,), None, 0, 1, FOREVER)

    def react(self, state: CountsState, now: float, seen: list[Any], out: Out) -> float:
        first, second, watch, (order, _) = seen
        if state.due <= now:
            state.crossings += 1
            state.side = -state.side
        given, anew = (first.pieces, second.pieces, first.known and second.known), False
        if given != state.given:
            anew = bool(state.given) and given[2] != state.given[2]
            state.given, state.measured = given, together(first.pieces, second.pieces, now)
        if watch is not None and (watch != state.watch or anew):
            state.side = 1 if at(state.measured, now)[0] < watch else -1
        state.watch = watch
        state.due = FOREVER if watch is None else first_crossing(state.measured, watch, now, state.side)
        way = moving((first.motion, second.motion), order)
        out.put(0, Travelled(state.measured, given[2], way, state.crossings))
        return state.due


@state
class Nothing:
    """The state of a part that remembers nothing."""


@dataclass(frozen=True, slots=True)
class SwitchesOfBoth:
    """Limit switches and force sensing of two leaves as one."""

    leaves: Pair
    name: str = ""
    phase: ClassVar[Phase] = Phase.SENSE
    rank: ClassVar[int] = 91
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    def reads(self) -> tuple[Wire, ...]:
        ends = [LimitSwitch(named(one.of, side.value)) for side in Side for one in self.leaves]
        return (*ends, *(ForceTrip(one.of) for one in self.leaves), *(ForceReady(one.of) for one in self.leaves))

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        ends = [(LimitSwitch(named(BOTH, side.value)), False) for side in Side]
        return (*ends, (ForceTrip(BOTH), False), (ForceReady(BOTH), True))

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> Nothing:
        return Nothing()

    def react(self, state: Nothing, now: float, seen: list[Any], out: Out) -> float:
        out.put(0, seen[0] and seen[1])
        out.put(1, seen[2] and seen[3])
        out.put(2, seen[4] or seen[5])
        out.put(3, seen[6] and seen[7])
        return FOREVER


@state
class FollowState:
    """The order of each leaf, since when, and since when it has done otherwise."""

    orders: tuple[Direction | None, Direction | None]
    since: tuple[float, float]
    still: tuple[float, float]


@dataclass(frozen=True, slots=True)
class ReadBackOfBoth:
    """Whether each leaf does what its own order says: the read-backs of both, and their motion within the limits."""

    leaves: Pair
    start_limit: int
    stop_limit: int
    name: str = ""
    phase: ClassVar[Phase] = Phase.DRIVE
    rank: ClassVar[int] = 35
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    def reads(self) -> tuple[Wire, ...]:
        mine: list[Wire] = []
        for one in self.leaves:
            mine += [Order(one.order), Counts(one.of), LimitSwitch(named(one.of, "closed")),
                     LimitSwitch(named(one.of, "open")), ContactorReadBack(named(one.of, "opening")),
                     ContactorReadBack(named(one.of, "closing"))]
        return (Order(), *mine)

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return tuple((ContactorReadBack(named(BOTH, way.value)), False) for way in Direction)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> FollowState:
        return FollowState((None, None), (-FOREVER, -FOREVER), (0.0, 0.0))

    def react(self, state: FollowState, now: float, seen: list[Any], out: Out) -> float:
        order = seen[0][0]
        wrong, due = False, FOREVER
        for k, one in enumerate(self.leaves):
            mine, counts, closed, opened, *back = seen[1 + 6 * k : 7 + 6 * k]
            bad, later = self._follows(state, k, one, now, mine[0], counts, (closed, opened), back)
            wrong, due = wrong or bad, min(due, later)
        for k, way in enumerate(Direction):
            # Wrong: nothing is seen closed on an order, and something at rest.
            out.put(k, wrong if order is None else order is way and not wrong)
        return due

    def _follows(self, state: FollowState, k: int, one: LeafTable, now: float, order: Direction | None,
                 counts: Travelled, ends: tuple[bool, bool], back: list[bool]) -> tuple[bool, float]:
        """Whether a leaf does otherwise than ordered, and from when on it would if nothing changed."""
        if order is not state.orders[k]:
            state.orders, state.since = _put(state.orders, k, order), _put(state.since, k, now)
        moves = counts.motion is not None
        if moves or order is None:
            state.still = _put(state.still, k, FOREVER)
        else:
            state.still = _put(state.still, k, min(state.still[k], now))
        wrong = back != [order is Direction.OPENING, order is Direction.CLOSING] or all(ends)
        if counts.known:
            x = at(counts.pieces, now)[0]
            wrong = wrong or (ends[0] and x > AGREES) or (ends[1] and x < one.gate.travel - AGREES)
        if order is None:
            limit = state.since[k] + self.stop_limit if moves else FOREVER
        else:
            wrong = wrong or (moves and counts.motion is not order)
            there = ends[1] if order is Direction.OPENING else ends[0]
            limit = FOREVER if there else state.still[k] + self.start_limit
        return wrong or now >= limit, limit if limit > now else FOREVER


def _put(pair: tuple[Any, Any], k: int, value: Any) -> tuple[Any, Any]:
    return (value, pair[1]) if k == 0 else (pair[0], value)


def parts(site: Site, bench: Bench) -> Iterable[Part]:
    """The process image of two leaves."""
    if site.second_leaf is None:
        return
    first, second = leaves(site)
    yield CountsOfBoth((first, second))
    yield SwitchesOfBoth((first, second))
    yield ReadBackOfBoth((first, second), site.controller.start_limit, site.controller.stop_limit)
