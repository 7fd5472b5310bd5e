"""The leaf and its drive: what moves, when, and how far.

The leaf plans a whole motion whenever something that matters changes and then only says when the next piece begins.
What it does in each case is docs/timing.md, sections 2 and 3.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar, NamedTuple

from gatesim.events import (
    Brake,
    Direction,
    LeafName,
    LeafPushed,
    LeafStarted,
    LeafStopped,
    MotionChanged,
    PushLeaf,
    Stimulus,
)
from gatesim.plant.curve import MN_PER_KG, deflection, deflection_at, force_at, place
from gatesim.plant.driven import Driven, Memory, remembered
from gatesim.plant.dynamics import dynamics_of
from gatesim.plant.given import Given
from gatesim.plant.leaves import as_leaf, leaves, named, telling
from gatesim.plant.motion import (
    Pieces,
    Ramp,
    at,
    cut,
    direction_of,
    halt,
    heading,
    heading_at,
    index_at,
    move,
    onward,
    push,
    rest,
    sqrt,
    stop,
)
from gatesim.plant.part import Bench, Out, Part, Phase, Wire, state
from gatesim.plant.site import Drive, Gate, Site, WithoutPower
from gatesim.plant.wires import (
    Block,
    Blocks,
    BrakeOrder,
    Contactor,
    Deceleration,
    DriveDirection,
    MainContact,
    Motion,
    Order,
    Piece,
    Supply,
)
from gatesim.units import FOREVER

PUSH_RATE = 0.5e-6
"""Acceleration of a leaf pushed by hand or wind (um/us^2; ours)."""

LEAST = 1e-3
"""Shorter than this (um) nothing springs back: it is the rounding of the last spring-back."""


class Inputs(NamedTuple):
    """What the leaf's plan depends on."""

    drive: Direction | None
    slow: bool
    coasts: bool
    released: bool
    deceleration: float
    blocks: tuple[Block, ...]


class BringUp(NamedTuple):
    """One bringing up by an obstruction: from `begin` to rest at `end`, there at `stand`."""

    begin: float
    end: float
    stand: float
    obstruction: str


class Leg(NamedTuple):
    """A part of a plan, and the bringings up in it."""

    pieces: Pieces
    brought: tuple[BringUp, ...] = ()


def energised(opening: bool, closing: bool, main: bool, supply: bool) -> Direction | None:
    """The direction in which the drive thrusts: one contactor alone, the main shut-off closed, the supply good."""
    if not (main and supply) or opening == closing:
        return None
    return Direction.OPENING if opening else Direction.CLOSING


@state
class LeafState:
    """The plan and what it was made for."""

    pieces: Pieces
    inputs: Inputs
    ready: float
    """From when on the drive's thrust (or, de-energised, the stopping deceleration) acts."""
    brought: tuple[BringUp, ...]
    free_from: float
    """From when on the plan is a push or a springing back, which goes on whatever a drive at rest is told."""
    told: Piece | None
    """The last piece that was recorded."""
    next: int
    """The first piece of the plan that was not looked at yet."""
    memory: Memory = Memory()
    """Of a drive with a motor."""


@dataclass(frozen=True, slots=True)
class Leaf:
    """The leaf on its guides: driven, stopped, brought up, sprung back and pushed."""

    gate: Gate
    drive: Drive
    leaf_at: float
    leaf: LeafName = LeafName.FIRST
    order: str = ""
    """The `of` of the drive order."""
    driven: Driven | None = None
    """The forces, where the drive has a motor; without, the stated accelerations hold."""
    phase: ClassVar[Phase] = Phase.SENSE
    rank: ClassVar[int] = 10
    takes: ClassVar[tuple[type[Stimulus], ...]] = (PushLeaf,)

    @property
    def name(self) -> str:
        return self.leaf.of

    def reads(self) -> tuple[Wire, ...]:
        of = self.leaf.of
        return (Contactor(named(of, "opening")), Contactor(named(of, "closing")), MainContact(), Supply(),
                Order(self.order), BrakeOrder(), Deceleration(of), DriveDirection(of), Blocks(of))

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((Motion(self.leaf.of), rest(0.0, self.leaf_at)),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> LeafState:
        return LeafState(rest(0.0, self.leaf_at), Inputs(None, False, False, False, 0.0, ()), 0.0, (), FOREVER, None, 0)

    def react(self, state: LeafState, now: float, seen: list[Any], out: Out) -> float:
        out = telling(out, self.leaf)
        inputs = self._inputs(seen)
        if inputs != state.inputs:
            if self.driven is None:
                self._replan(state, now, inputs)
            else:
                self._out_of_forces(self.driven, state, now, inputs)
        for stimulus in out.stimuli:
            self._pushed(state, now, stimulus, out)
        _record(state, now, out)
        out.put(0, state.pieces)
        return state.pieces[state.next].t if state.next < len(state.pieces) else FOREVER

    def _inputs(self, seen: list[Any]) -> Inputs:
        opening, closing, main, supply, (_, slow), brake, deceleration, as_wired, blocks = seen
        drive = energised(opening, closing, main, supply)
        if drive is not None and not as_wired:
            drive = drive.other
        coasts = not supply and self.drive.without_power is WithoutPower.COASTING
        released = brake is Brake.RELEASE and not self.drive.self_locking
        return Inputs(drive, slow and drive is not None, coasts, released, deceleration, blocks)

    @property
    def _mass(self) -> float:
        """What moves (kg): the leaf, and rotor and gear with it."""
        return self.gate.mass + self.drive.reflected_mass

    # --- planning -----------------------------------------------------------------------------------------------

    def _replan(self, state: LeafState, now: float, inputs: Inputs) -> None:
        """Make the plan from now on for these inputs."""
        before, state.inputs = state.inputs, inputs
        x, v = at(state.pieces, now)
        free = now >= state.free_from and heading_at(state.pieces, now) != 0
        halting = _halting(state.brought, now, v, before, inputs)
        if inputs.drive is not before.drive or inputs.coasts != before.coasts:
            state.ready = now + self._delay(inputs, v)
        if inputs.drive is not None:
            state.free_from = FOREVER
            leg = self._driven(state, now, x, v, halting)
        elif free and (inputs.released, inputs.coasts) == (before.released, before.coasts):
            left = onward(state.pieces, now)
            leg = Leg(self._cut_free(inputs, left, heading(left[0])))
        else:
            leg = self._stopping(state, now, x, v, halting)
        state.brought = leg.brought
        self._take(state, now, leg.pieces)

    def _out_of_forces(self, driven: Driven, state: LeafState, now: float, inputs: Inputs) -> None:
        """Make the plan of a drive with a motor."""
        before, state.inputs = state.inputs, inputs
        x, v = at(state.pieces, now)
        free = now >= state.free_from and heading_at(state.pieces, now) != 0
        memory = remembered(state.memory, before.drive.sign if before.drive else 0, state.ready, now)
        if inputs.drive is not before.drive or inputs.coasts != before.coasts:
            memory = memory._replace(push=before.drive.sign if before.drive else 0, slow=before.slow)
            wait = 0.0 if v != 0 or inputs.drive is None else driven.delay(memory, inputs.drive.sign, inputs.slow)
            state.ready = now + (wait if inputs.drive is not None else self._delay(inputs, v))
        if inputs.drive is not None:
            sign, slow = inputs.drive.sign, inputs.slow
            pieces, state.ready = driven.energised(inputs, sign, slow, now, state.ready, x, v, memory)
        elif free and (inputs.released, inputs.coasts) == (before.released, before.coasts):
            left = onward(state.pieces, now)
            self._take(state, now, self._cut_free(inputs, left, heading(left[0])))
            return
        else:
            pieces = driven.cut_off(inputs, now, state.ready, x, v, memory)
        state.memory, state.free_from = memory, FOREVER
        self._take(state, now, pieces)

    def _take(self, state: LeafState, now: float, pieces: Pieces) -> None:
        current = state.pieces[index_at(state.pieces, now)]
        if len(pieces) == 1 and heading(pieces[0]) == 0 == heading(current):
            pieces = (current,)
        state.pieces, state.next = pieces, 0

    def _delay(self, inputs: Inputs, v: float) -> float:
        if inputs.drive is None:
            return 0 if inputs.coasts else self.drive.stopping_delay
        return self.drive.start_delay if v == 0 else 0

    def _driven(self, state: LeafState, now: float, x: float, v: float, halting: BringUp | None) -> Leg:
        """Energised: from rest after the start delay, on from the speed it has, or stopped first and then turned."""
        inputs, drive = state.inputs, self.drive
        assert inputs.drive is not None
        sign, t = inputs.drive.sign, now
        first = Leg(())
        if v * sign < 0:
            first = self._constrained(inputs, stop(now, x, v, 0, inputs.deceleration), -sign, halting)
            last = first.pieces[-1]
            if heading(last) != 0:
                return first
            t, x, v, halting = last.t, last.x, 0.0, None
            state.ready = t + drive.start_delay
        elif v == 0 and state.ready > now:
            first = Leg(rest(now, x))
        if v == 0 and state.ready > t:
            t = state.ready
        full = drive.speed_opening if sign > 0 else drive.speed_closing
        ramp = Ramp(drive.slow_speed if inputs.slow else full, drive.slow_speed, drive.slow_zone, drive.acceleration,
                    drive.deceleration)
        way = self._constrained(inputs, move(t, x, v, sign, self.gate.travel, ramp), sign, halting)
        if first.pieces and len(way.pieces) == 1 and heading(way.pieces[0]) == 0:
            return first
        return Leg((*first.pieces, *way.pieces), (*first.brought, *way.brought))

    def _stopping(self, state: LeafState, now: float, x: float, v: float, halting: BringUp | None) -> Leg:
        """Not energised: to rest, and sprung back from there if the brake is released."""
        inputs = state.inputs
        state.free_from = FOREVER
        delay = state.ready - now if state.ready > now else 0
        rate = self.drive.coasting_deceleration if inputs.coasts else inputs.deceleration
        leg = Leg(stop(now, x, v, delay, rate))
        if v != 0:
            leg = self._constrained(inputs, leg.pieces, 1 if v > 0 else -1, halting)
        last = leg.pieces[-1]
        if not inputs.released or heading(last) != 0:
            return leg
        back = self._spring_back(inputs, last.t, last.x)
        if not back:
            return leg
        state.free_from = last.t
        return Leg((*(leg.pieces if v != 0 else ()), *back), leg.brought)

    def _spring_back(self, inputs: Inputs, t: float, x: float) -> Pieces:
        """A released leaf pressed against an obstruction: back until the force is the running resistance."""
        pressed, most = None, self.gate.running_resistance
        for block in inputs.blocks:
            force = force_at(block, deflection(block, x))
            if force > most:
                pressed, most = block, force
        if pressed is None:
            return ()
        end = place(pressed, deflection_at(pressed, self.gate.running_resistance))
        sign = -pressed.direction.sign
        way = (end - x) * sign
        if way <= LEAST:
            return ()
        rate = (most - self.gate.running_resistance) / (2 * self._mass * MN_PER_KG)
        half = sqrt(way / rate)
        pieces = (Piece(t, x, 0.0, sign * rate), Piece(t + half, x + sign * way / 2, sign * rate * half, -sign * rate),
                  Piece(t + 2 * half, end, 0.0, 0.0))
        return self._cut_free(inputs, pieces, sign)

    def _constrained(self, inputs: Inputs, pieces: Pieces, sign: int, halting: BringUp | None) -> Leg:
        """The plan with the obstructions in its way and the end stop."""
        brought: tuple[BringUp, ...] = ()
        if halting is not None:
            pieces, slowing = halt(pieces, pieces[0].x, sign, 0, halting.stand)
            if slowing is not None:
                brought = (BringUp(slowing.t, pieces[-1].t, halting.stand, halting.obstruction),)
        ahead = []
        for block in inputs.blocks:
            begin = place(block, deflection_at(block, block.brought_up))
            mine = halting is not None and halting.obstruction == block.obstruction
            if block.direction.sign == sign and not mine and block.end_stiffness > 0:
                ahead.append((begin * sign, begin, block))
        for _, begin, block in sorted(ahead, key=lambda entry: entry[0]):
            give = sqrt(MN_PER_KG * self._mass * block.share / block.end_stiffness)
            pieces, slowing = halt(pieces, begin, sign, give)
            if slowing is not None:
                brought = (*brought, BringUp(slowing.t, pieces[-1].t, pieces[-1].x, block.obstruction))
        return Leg(cut(pieces, self.gate.travel if sign > 0 else 0.0, sign), brought)

    def _cut_free(self, inputs: Inputs, pieces: Pieces, sign: int) -> Pieces:
        """A push or a springing back ends where an obstruction is touched, and at the end stop."""
        for block in inputs.blocks:
            if block.direction.sign == sign:
                pieces = cut(pieces, block.at, sign)
        return cut(pieces, self.gate.travel if sign > 0 else 0.0, sign)

    def _pushed(self, state: LeafState, now: float, given: Any, out: Out) -> None:
        """A push from outside: no effect on a leaf that is energised, that moves already or that its gear holds."""
        if self.drive.self_locking or state.inputs.drive is not None or heading_at(state.pieces, now) != 0:
            return
        x = at(state.pieces, now)[0]
        sign = given.direction.sign
        pieces = self._cut_free(state.inputs, push(now, x, sign, given.distance, given.speed, PUSH_RATE), sign)
        if heading(pieces[0]) == 0:
            return
        out.event(LeafPushed(given.direction, given.by))
        state.free_from = now
        self._take(state, now, pieces)


def _halting(brought: tuple[BringUp, ...], now: float, v: float, before: Inputs, inputs: Inputs) -> BringUp | None:
    """The bringing up that goes on now, if its obstruction is still there as it was."""
    if v == 0:
        return None
    for one in reversed(brought):
        if one.begin <= now < one.end:
            was = [block for block in before.blocks if block.obstruction == one.obstruction]
            return one if was == [b for b in inputs.blocks if b.obstruction == one.obstruction] else None
    return None


def _goes_on(told: Piece, piece: Piece) -> bool:
    """Whether a piece is the motion that was told already.

    The acceleration, which is seldom a number of the moment, is asked first, and the place, which always is, last.
    """
    if told.a != piece.a:
        return False
    x, v = at((told,), piece.t)
    return v == piece.v and x == piece.x


def _record(state: LeafState, now: float, out: Out) -> None:
    """Record every piece that has begun and changes the motion."""
    while state.next < len(state.pieces) and state.pieces[state.next].t <= now:
        piece, told = state.pieces[state.next], state.told
        state.next += 1
        if told is not None and _goes_on(told, piece):
            continue
        was, sign = (heading(told) if told is not None else 0), heading(piece)
        state.told = piece
        out.event(MotionChanged(piece.x, piece.v, piece.a, direction_of(sign)))
        if was != 0 and sign != was:
            out.event(LeafStopped(piece.x))
        way = direction_of(sign)
        if way is not None and sign != was:
            out.event(LeafStarted(way, piece.x))


def parts(site: Site, bench: Bench) -> Iterable[Part]:
    """Each leaf, its brake and its drive's wiring."""
    for one in leaves(site):
        yield Given(Deceleration(one.of), one.drive.stopping_deceleration)
        yield Given(DriveDirection(one.of), True)
        forces = dynamics_of(as_leaf(site, one.leaf))
        driven = None if forces is None else Driven(one.drive, forces)
        yield Leaf(one.gate, one.drive, one.leaf_at, one.leaf, one.order, driven)
