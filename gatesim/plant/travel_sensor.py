"""The travel sensor: counts the leaf's travel, and knows the position once it has been referenced.

The position is known at the start of a run, lost with the supply (from then on only differences count), and referenced
anew when a limit switch (as its wire says) closes: at the place where it should.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar, NamedTuple

from gatesim.events import Direction, LeafName, Stimulus
from gatesim.plant.given import Given
from gatesim.plant.leaves import leaves, named
from gatesim.plant.motion import Pieces, at, direction_of, first_crossing, heading_at, next_turn, onward, rest
from gatesim.plant.part import Bench, Out, Part, Phase, Wire, state
from gatesim.plant.site import Site
from gatesim.plant.wires import Counts, LimitSwitch, Motion, Piece, SensorGain, Supply, Watch
from gatesim.units import FOREVER

LEAST = 1e-6
"""A place this near (um) to a count is on it: it is the rounding of a multiple."""


class Travelled(NamedTuple):
    """What the travel sensor gives the controller.

    `pieces`: the measured motion (um from the closed end); `known`: whether its place, and not only differences of it,
    is worth anything; `motion`: what the counts say now; `crossings`: how often the watched position was crossed.
    """

    pieces: Pieces
    known: bool
    motion: Direction | None
    crossings: int
    count_length: float = 0.0
    """Travel that one count stands for (um); 0: as fine as need be."""
    way: int = 1
    """Heading of the last motion: a leaf at rest stands on the count that it came to."""


def measured_at(travelled: Travelled, now: float) -> float:
    """The measured position (um) at an instant of now or later; while not `known`, only its differences count.

    At the instant of a crossing it is exactly the watched position, or the first count at or past it.
    """
    x = at(travelled.pieces, now)[0]
    if travelled.count_length <= 0:
        return x
    return counted(x, travelled.count_length, heading_at(travelled.pieces, now) or travelled.way)


def counted(x: float, count: float, way: int) -> float:
    """The last count passed by a leaf at x that moves (or moved last) this way."""
    if way > 0:
        return (x + LEAST) // count * count
    return -((LEAST - x) // count * count)


@state
class SensorState:
    """The last inputs, the measured motion, and the watch."""

    real: Pieces
    gain: float
    closed: bool | None
    opened: bool | None
    watch: float | None
    measured: Pieces
    known: bool
    crossings: int
    side: int
    """Heading with which the watched position would be crossed next."""
    due: float
    way: int = 1
    """Heading of the last motion."""


@dataclass(frozen=True, slots=True)
class TravelSensor:
    """Counts in both directions while it has supply; a gain of 0 is a sensor that has come off."""

    travel: float
    lead: float
    leaf_at: float
    leaf: LeafName = LeafName.FIRST
    watch: str = ""
    """The `of` of the position compare."""
    count: float = 0.0
    """Travel that one count stands for (um); 0: as fine as need be."""
    slip: float = 0.0
    """Share of the travel that the counts lose, both ways."""
    name: str = ""
    phase: ClassVar[Phase] = Phase.SENSE
    rank: ClassVar[int] = 80
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    def reads(self) -> tuple[Wire, ...]:
        of = self.leaf.of
        return (Motion(of), SensorGain(of), Supply(), LimitSwitch(named(of, "closed")), LimitSwitch(named(of, "open")),
                Watch(self.watch))

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((Counts(self.leaf.of), Travelled(rest(0.0, self.leaf_at), True, None, 0)),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> SensorState:
        here = rest(0.0, self.leaf_at)
        return SensorState(here, 1.0, None, None, None, here, True, 0, 1, FOREVER)

    def react(self, state: SensorState, now: float, seen: list[Any], out: Out) -> float:
        real, gain, supply, closed, opened, watch = seen
        place, aim = None, False
        if state.due <= now:
            assert state.watch is not None
            place = self._place(state.watch, state.side)
            state.crossings += 1
            state.side = -state.side
        reference = self._reference(state, closed, opened)
        # A known place is never corrected by a switch: they must agree, or nobody could tell that one is wrong.
        if reference is not None and supply and not state.known:
            place, aim, state.known = reference, True, True
        if self.slip > 0:
            gain *= 1 - self.slip
        if not supply:
            state.known, gain = False, 0.0
        if place is not None or real is not state.real or gain != state.gain:
            here = at(state.measured, now)[0] if place is None else place
            state.real, state.gain, state.measured = real, gain, _measured(real, gain, here, now)
        self._aim(state, now, watch, aim)
        heading = heading_at(state.measured, now)
        state.way = heading or state.way
        out.put(0, Travelled(state.measured, state.known, direction_of(heading), state.crossings, self.count,
                             state.way))
        turn = next_turn(state.measured, now)
        return state.due if state.due < turn else turn

    def _reference(self, state: SensorState, closed: bool, opened: bool) -> float | None:
        """The place of a limit switch that has just closed."""
        place = None
        if closed and state.closed is False:
            place = self.lead
        elif opened and state.opened is False:
            place = self.travel - self.lead
        state.closed, state.opened = closed, opened
        return place

    def _aim(self, state: SensorState, now: float, watch: float | None, anew: bool) -> None:
        """Say when the watched position is crossed next."""
        if watch is not None and (watch != state.watch or anew):
            state.side = 1 if at(state.measured, now)[0] < watch else -1
        state.watch = watch
        state.due = FOREVER
        if watch is not None:
            state.due = first_crossing(state.measured, self._place(watch, state.side), now, state.side)

    def _place(self, watch: float, side: int) -> float:
        """Where a watched position is crossed: by counts with the first one at or past it."""
        return watch if self.count <= 0 else counted(watch, self.count, -side)


def _measured(real: Pieces, gain: float, here: float, now: float) -> Pieces:
    """The counted motion from now on, for a leaf that is taken to be `here`."""
    left = onward(real, now)
    start = left[0].x
    return tuple([Piece(t, here + gain * (x - start), gain * v, gain * a) for t, x, v, a in left])


def parts(site: Site, bench: Bench) -> Iterable[Part]:
    """The travel sensor of each leaf, and its coupling."""
    for one in leaves(site):
        yield Given(SensorGain(one.of), 1.0)
        yield TravelSensor(one.gate.travel, one.drive.limit_lead, one.leaf_at, one.leaf, one.order,
                           count=one.drive.count_length, slip=one.drive.count_slip)
