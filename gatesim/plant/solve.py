"""From forces to pieces: one way of a leaf, from where it is until it stands, as pieces of constant acceleration.

The way is cut where the force over x bends.  Between the cuts a fifth-order rule (Dormand and Prince 1980, with its
embedded fourth) steps as far as its error allows, and each step becomes two pieces of equal length that meet place and
speed at its end exactly, so that nothing adds up.  Inside, a step of length h whose pieces differ by d in acceleration
is off by at most d h^2 / 216 in place and d h / 16 in speed, which is held under `OFF`, `LATE` and `FAST`.  Where the
acceleration is constant the step is exact and goes to the next cut.  Only + - * / and sqrt.  The equations are
docs/timing.md, section 11.
"""

from __future__ import annotations

from typing import NamedTuple

from gatesim.errors import ModelError
from gatesim.plant.curve import MN_PER_KG
from gatesim.plant.dynamics import Dynamics
from gatesim.plant.laws import Bounds, straight, through_arm
from gatesim.plant.motion import Pieces, Ramp, sqrt
from gatesim.plant.steps import NO, Slope, Step, constant_step, dormand_prince, halves
from gatesim.plant.wires import Block, Piece
from gatesim.units import FOREVER

OFF = 10.0
"""A piece is never farther than this (um) from the solution at the same instant."""
LATE = 100.0
"""Nor is it farther than the leaf goes in this time (us)."""
FAST = 2e-5
"""Nor is its speed off by more (um/us), so that a plan made anew within a piece is as exact."""
CREEP = 1e-5
"""A leaf under drive that is slower than this (um/us) and slowing stands (ours: friction has it)."""
LAG = 2.0
"""What a leaf still lags behind its final speed's line (um) when it is given that speed."""
MOVES = 1_000.0
"""What must be left over for a start (mN; ours)."""

_ON = 1e-7
"""Within this of its ceiling (um/us) the drive is on it."""
_FIRST, _MOST_STEPS = 20_000.0, 20_000
_LEAST = 1e-6
"""A step shorter than this (us) leaves no piece."""


class Ceiling(NamedTuple):
    """The speed to which the drive keeps: square - 2 rate (way - start) is its square; along one stretch."""

    square: float
    start: float
    rate: float

    def speed(self, way: float) -> float:
        """The speed at a drive way."""
        left = self.square - 2 * self.rate * (way - self.start)
        return sqrt(left) if left > 0 else 0.0


class End(NamedTuple):
    """The pieces of a way, and how it ends: standing (its last piece) or, after `until`, moving on."""

    pieces: Pieces
    t: float
    x: float
    v: float


def solve(forces: Dynamics, blocks: tuple[Block, ...], t: float, x: float, v: float, sign: int, ramp: Ramp | None,
          brake: float = 0.0, until: float = FOREVER) -> End:
    """The way from t on with `sign`: under drive (`ramp`), or without, held back by `brake` (mN of the drive's way).

    From rest it may not begin at all.  It ends at rest, at the end stop, or at `until`.
    """
    way = _Way(forces, blocks, t, x * sign, v * sign, sign, ramp, brake, until)
    way.go()
    return End(tuple(way.made), way.t, way.p * sign + 0.0, way.w * sign + 0.0)


class _Way:
    """A way while it is being solved.  Progress p = sign x, speed w = sign v, both along the way."""

    def __init__(self, forces: Dynamics, blocks: tuple[Block, ...], t: float, p: float, w: float, sign: int,
                 ramp: Ramp | None, brake: float, until: float) -> None:
        self.forces, self.blocks, self.sign, self.ramp, self.brake, self.until = (
            forces, blocks, sign, ramp, brake, until)
        self.t, self.p, self.w, self.h = t, p, w, _FIRST
        self.made: list[Piece] = []
        self.left = _MOST_STEPS
        self.goes_on = False  # whether the last piece holds on exactly

    def go(self) -> None:
        """Through stretch after stretch until it ends."""
        end = self.forces.travel if self.sign > 0 else 0.0
        if self.p < end and (self.w != 0 or self.starts()):
            cuts = sorted({cut for cut in self._cuts() if self.p < cut < end} | {end})
            for cut in cuts:
                if self._through(cut):
                    return
        self.stand()

    def stand(self) -> None:
        """At rest from here on."""
        self.w = 0.0
        self.made.append(Piece(self.t, self.p * self.sign + 0.0, 0.0, 0.0))  # never -0.0

    def starts(self) -> bool:
        """Whether a leaf at rest here begins to move with the sign."""
        x = self.p * self.sign
        held = self.forces.against(self.blocks, x, self.sign) + self.forces.breakaway - self.forces.friction
        ratio = self.forces.geometry(x)[1]
        return ratio * (self.forces.thrust(0.0) if self.ramp is not None else -self.brake) > held + MOVES

    def _cuts(self) -> list[float]:
        """Where forces or the drive's ceiling bend, in progress."""
        cuts = [x * self.sign for x in self.forces.kinks(self.blocks)]
        if self.ramp is not None:
            zone, begin = self._slowing()
            cuts += [self.forces.place_of(way) * self.sign for way in (zone, begin)]
        return cuts

    def _slowing(self) -> tuple[float, float]:
        """Drive ways at which the slow zone begins, and at which slowing for it does."""
        ramp, travel = self.ramp, self.forces.travel
        assert ramp is not None
        zone = self.forces.geometry(travel - ramp.zone if self.sign > 0 else ramp.zone)[0]
        if ramp.target <= ramp.slow:
            return zone, zone
        return zone, zone - self.sign * (ramp.target * ramp.target - ramp.slow * ramp.slow) / (2 * ramp.deceleration)

    def _ceiling(self, middle: float) -> Ceiling:
        """The ceiling of the stretch around this progress; ways are signed like progress."""
        ramp = self.ramp
        assert ramp is not None
        zone, begin = [way * self.sign for way in self._slowing()]
        here = self.forces.geometry(middle * self.sign)[0] * self.sign
        if ramp.target <= ramp.slow or here < begin:
            return Ceiling(ramp.target * ramp.target, 0.0, 0.0)
        if here < zone:
            return Ceiling(ramp.slow * ramp.slow, zone, ramp.deceleration)
        return Ceiling(ramp.slow * ramp.slow, 0.0, 0.0)

    # --- one stretch ------------------------------------------------------------------------------------------

    def _through(self, cut: float) -> bool:
        """Go on to the cut; True where the way ends before it."""
        begin, forces = self.p, self.forces
        first = forces.against(self.blocks, begin * self.sign, self.sign)
        slope = (forces.against(self.blocks, cut * self.sign, self.sign) - first) / (cut - begin)
        ceiling = self._ceiling((begin + cut) / 2) if self.ramp is not None else None
        stretch = _Stretch(self, first - slope * begin, slope, ceiling, cut)
        while self.p < cut:
            self.left -= 1
            if self.left < 0:
                raise ModelError(f"the leaf's way has more than {_MOST_STEPS} steps")
            if stretch.advance():
                return True
        return False

    def emit(self, h: float, dp: float, dw: float, constant: float | None) -> None:
        """Add the pieces of a step and be at its end."""
        t, p, w, sign, made = self.t, self.p, self.w, self.sign, self.made
        if h >= _LEAST:
            if constant is not None:
                a = sign * constant + 0.0  # never -0.0
                if not self.goes_on or made[-1].a != a:
                    made.append(Piece(t, sign * p, sign * w, a))
                self.goes_on = True
            else:
                a1, a2 = halves(h, dp, dw, w)
                made.append(Piece(t, sign * p, sign * w, sign * a1))
                half = h / 2
                made.append(Piece(t + half, sign * (p + (w + a1 * half / 2) * half), sign * (w + a1 * half), sign * a2))
                self.goes_on = False
        self.t, self.p, self.w = t + h, p + dp, w + dw


class _Stretch:
    """The acceleration between two cuts, and steps through it."""

    def __init__(self, way: _Way, offset: float, slope: float, ceiling: Ceiling | None, cut: float) -> None:
        self.way, self.offset, self.slope, self.ceiling, self.cut = way, offset, slope, ceiling, cut
        self.mode = 0
        self.bounds: Bounds | None = None
        self.rising = 1

    def advance(self) -> bool:
        """One step; True where the way ends with it."""
        way = self.way
        if self.ceiling is not None:
            self.mode = self._mode(way.p, way.w)
        pull, self.bounds = self._laws()
        first = pull(way.p, way.w)
        if self.ceiling is not None and 0 < way.w <= CREEP and first < 0:
            way.stand()
            return True
        if self._settles(first):
            return False
        h = min(way.h, way.until - way.t)
        if h <= 0:
            return True
        step = self._tried(pull, first, h)
        step, event = self._cut_short(pull, first, step)
        way.emit(step.h, step.dp, step.dw, step.constant)
        if event == _REST:
            way.stand()
            return True
        self._snap(event)
        return way.t >= way.until

    def _snap(self, event: int) -> None:
        way = self.way
        if event == _CUT:
            way.p = self.cut
        elif event == _CEILING and self.ceiling is not None:
            at, ratio, _ = way.forces.geometry(way.p * way.sign)
            way.w = self.ceiling.speed(at * way.sign) / ratio
            way.goes_on = False

    def _mode(self, p: float, w: float) -> int:
        """-1 below the ceiling, 0 on it, 1 above."""
        at, ratio, _ = self.way.forces.geometry(p * self.way.sign)
        assert self.ceiling is not None
        over = w * ratio - self.ceiling.speed(at * self.way.sign)
        return 0 if -_ON <= over <= _ON else 1 if over > 0 else -1

    # --- accelerations ----------------------------------------------------------------------------------------

    def _laws(self) -> tuple[Slope, Bounds | None]:
        """The acceleration as it holds for this step, and what bounds it."""
        way = self.way
        wanted = None if self.ceiling is None else self._wanted()
        if way.forces.arm is None:
            return straight(way.forces, self.offset, self.slope, way.brake, wanted)
        return through_arm(way.forces, way.forces.arm, way.sign, self.offset, self.slope, way.brake, wanted)

    def _wanted(self) -> float:
        """The drive's acceleration along its own way, as far as its thrust allows."""
        ramp, ceiling = self.way.ramp, self.ceiling
        assert ramp is not None
        assert ceiling is not None
        return ramp.acceleration if self.mode < 0 else -ramp.deceleration if self.mode > 0 else -ceiling.rate

    # --- steps ------------------------------------------------------------------------------------------------

    def _settles(self, first: float) -> bool:
        """Give the leaf its final speed once it lags by next to nothing; it comes to it exactly `LAG` behind."""
        way, forces = self.way, self.way.forces
        if self.ceiling is None or self.mode >= 0 or forces.arm is not None or self.slope != 0 or way.w <= CREEP:
            return False
        if -NO < first < NO or first >= self._wanted():
            return False
        tau = (forces.mass + forces.rotor) * MN_PER_KG * forces.free / forces.stall
        final, time = way.w + first * tau, 2 * tau
        going = (way.w + final) / 2 * time
        if not -LAG < first * tau * tau < LAG or forces.thrust(way.w) >= forces.most or final <= CREEP:
            return False
        reached = self.ceiling.speed(way.p + going)
        if final >= reached or way.p + going >= self.cut or way.t + time >= way.until:
            return False
        way.emit(time, going, final - way.w, first / 2)
        way.goes_on = False
        way.h = FOREVER
        return True

    def _tried(self, pull: Slope, first: float, h: float) -> Step:
        """The longest step up to h that is exact enough."""
        way = self.way
        while True:
            if h == FOREVER:
                h = (self.cut - way.p) / way.w * 2 if way.w > 0 else _FIRST
            step = self._to_a_bend(pull, first, dormand_prince(pull, way.p, way.w, first, h))
            h, worst = step.h, self._worst(step)
            if worst <= 1:
                grown = 5.0 if worst < 0.008 else 0.9 / sqrt(sqrt(worst))
                way.h = h * grown if grown > 1 else h
                return step
            h *= max(0.2, 0.9 / sqrt(sqrt(worst)))
            if h < _LEAST:
                raise ModelError("the leaf's way can't be stepped finely enough")

    def _to_a_bend(self, pull: Slope, first: float, step: Step) -> Step:
        """The step up to where another bound takes over, if one does: the acceleration bends there."""
        if self.bounds is None or step.constant is not None:
            return step
        for kind in (_MOST, _LEAST_BOUND, _LIMIT):
            before = self._margin(kind, self.way.p, self.way.w)
            after = self._margin(kind, self.way.p + step.dp, self.way.w + step.dw)
            if (before < -_BEND and after > _BEND) or (before > _BEND and after < -_BEND):
                self.rising = 1 if after > 0 else -1
                step = self._found(kind, pull, first, step, after * self.rising)
        return step

    def _margin(self, kind: int, p: float, w: float) -> float:
        """By how much one bound is beyond the other (um/us^2)."""
        assert self.bounds is not None
        wanted, most, least, limit = self.bounds(p, w)
        return wanted - most if kind == _MOST else least - wanted if kind == _LEAST_BOUND else limit

    def _worst(self, step: Step) -> float:
        """The largest error as a share of what is allowed."""
        if step.constant is not None:
            return 0.0
        w, h = self.way.w, step.h
        a1, a2 = halves(h, step.dp, step.dw, w)
        middle, end = w + a1 * h / 2, w + step.dw
        if (end > 0 and (middle <= 0 or (w == 0 and a1 <= 0))) or (w == 0 and end <= 0):
            return 16.0
        bent = a2 - a1 if a2 > a1 else a1 - a2
        allowed = LATE * step.dp / h if step.dp > 0 else 0.0
        allowed = OFF if allowed > OFF or allowed <= 0 else allowed
        fast = 5 * FAST if self.ceiling is not None and self.mode == 0 else FAST  # on its ceiling the drive corrects it
        return max(bent * h * h / 216 / allowed, bent * h / 16 / fast, step.error)

    def _cut_short(self, pull: Slope, first: float, step: Step) -> tuple[Step, int]:
        """The step up to the first thing that happens in it, and what that is."""
        event = _NOTHING
        for kind in (_REST, _CUT, _CEILING):
            if kind == _CEILING and (self.ceiling is None or self.mode == 0):
                continue
            beyond = self._beyond(kind, step)
            if beyond > 0 or (beyond == 0 and kind != _CEILING):
                step, event = self._found(kind, pull, first, step, beyond), kind
        return step, event

    def _beyond(self, kind: int, step: Step) -> float:
        """How far a step goes past the place, rest or ceiling (positive: past)."""
        way = self.way
        if kind == _REST:
            return -(way.w + step.dw)
        if kind == _CUT:
            return way.p + step.dp - self.cut
        if kind != _CEILING:
            return self.rising * self._margin(kind, way.p + step.dp, way.w + step.dw)
        assert self.ceiling is not None
        at, ratio, _ = way.forces.geometry((way.p + step.dp) * way.sign)
        return -self.mode * ((way.w + step.dw) * ratio - self.ceiling.speed(at * way.sign))

    def _found(self, kind: int, pull: Slope, first: float, step: Step, beyond: float) -> Step:
        """The step that ends just there (false position, Illinois variant)."""
        way, low, high = self.way, 0.0, step.h
        nothing = Step(0.0, 0.0, 0.0, 0.0, first, step.constant)
        f_low, f_high = self._beyond(kind, nothing), beyond
        if f_low >= 0 and way.w > 0:
            return nothing
        side, exact = 0, _EXACT[kind]
        for _ in range(80):
            if f_high <= exact or high - low < 1e-9:
                break
            h = (low + high) / 2 if f_low >= 0 else high - f_high * (high - low) / (f_high - f_low)
            tried = (constant_step(way.w, step.constant, h) if step.constant is not None
                     else dormand_prince(pull, way.p, way.w, first, h))
            f = self._beyond(kind, tried)
            if f >= 0:
                high, f_high, step = h, f, tried
                f_low, side = (f_low / 2 if side == 1 else f_low), 1
            else:
                low, f_low = h, f
                f_high, side = (f_high / 2 if side == -1 else f_high), -1
        return step


_NOTHING, _REST, _CUT, _CEILING, _MOST, _LEAST_BOUND, _LIMIT = range(7)
_BEND = 1e-13
"""Bounds nearer to one another than this (um/us^2) are the same."""
_EXACT = {_REST: 1e-12, _CUT: 1e-7, _CEILING: 1e-12, _MOST: 1e-14, _LEAST_BOUND: 1e-14, _LIMIT: 1e-14}
