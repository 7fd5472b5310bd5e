"""A number that remembers how it depends on the moment of injection.

A run is given the moment T = t0 + d as such a number, with d = 0.  Everything computed from it carries its value at
d = 0, its slope and its bend: value + slope d + bend d^2, which is exact for what a move of constant acceleration makes
of a moment.  Whatever the run decides by it (`<`, `==`, which sample comes next) would be decided the same way for
every d of an interval: the run speaks for all of them.  Moments are whole microseconds, as in a scenario file, so what
matters are the whole ones in between.

A further slope, `turn`, says how the number changes when the moment is put off by whole periods of a regular clock (the
scans of an edge): T + k P.  The scan that sees the fault is then k scans later, and the run is the same one as long as
no decision against something that stands still falls otherwise.  So one run speaks for the interval and for its
repetitions.

A quotient, a root or a product of higher degree is a polynomial of degree two no more: it carries the bound `err` of
what was left out, which holds within `REACH` of the moment.  A run in which there is one speaks for no moment farther
away, nor for one at which the bound leaves a decision open.

A number that leaves the model (`int()`, `float()`, a hash, an index, `%`, formatting) is noted on the path as `left`:
decisions may depend on it of which nothing is known, and the run speaks for its own moment only.
"""

from __future__ import annotations

from math import ceil, floor, inf
from math import sqrt as root
from typing import Any, NamedTuple

REACH = 2000.0
"""How far from its moment (us) a run speaks that met a root or quotient, unless its path says less."""

STEEP = 0.5
"""The share by which what is under a root, or divides, may change within the reach; beyond it nothing is claimed."""


class Claim(NamedTuple):
    """The whole d for which a path speaks: first to last, each also k periods later for k up to `turns`."""

    first: int
    last: int
    turns: int


def _ends(value: float, slope: float, bend: float) -> tuple[float, float]:
    """The nearest places below and above 0 at which value + slope d + bend d^2 is 0 (value is not)."""
    if bend == 0:
        places = [-value / slope] if slope != 0 else []
    else:
        square = slope * slope - 4 * bend * value
        if square < 0:
            return -inf, inf
        # The form that does not cancel.
        both = -(slope + root(square) if slope >= 0 else slope - root(square)) / 2
        places = [both / bend, value / both] if both != 0 else []
    below = [one for one in places if one <= 0]
    above = [one for one in places if one > 0]
    return max(below, default=-inf), min(above, default=inf)


class Path:
    """What one run has decided.  An end of the interval is `open` where the decision falls otherwise exactly there."""

    __slots__ = ("deaf", "hi", "hi_open", "left", "lo", "lo_open", "reach", "steep", "turning", "turnless")

    def __init__(self, reach: float = REACH) -> None:
        self.reach = reach
        self.deaf = False
        """Whoever compares whole worlds wants no decision noted: a traced number equals itself only."""
        self.steep = False
        """Something changed too much within the reach; with a shorter one more could be said."""
        self.lo, self.hi = -inf, inf
        self.lo_open = self.hi_open = True
        self.turnless = False
        self.left = ""
        self.turning: list[tuple[float, float, float, bool]] = []
        """Decisions that change with the number of periods: value, slope and turn, so signed that they are positive
        now, and whether nothing counts as positive too."""

    def narrow(self, value: float, slope: float, bend: float, turn: float, err: float, zero: int) -> None:
        """A decision by the sign of a number: keep the moments with the sign that it has now.

        `zero` says with which sign nothing falls: -1 or +1, or 0 where it stands alone (an equality was asked).
        """
        if value in (inf, -inf):
            return  # against FOREVER
        now = (value > 0) - (value < 0) or zero
        if turn != 0:
            self._turn(value, slope, turn, now or 1, zero == now != 0)
            if bend != 0 or err != 0:
                self.turnless = True
        if slope == 0 and bend == 0 and err == 0:
            return
        if abs(value) <= err and (now == 0 or bend != 0 or err != 0):
            self.lo = self.hi = 0.0
            self.lo_open = self.hi_open = False
        elif value == 0:
            if (slope > 0) == (now > 0):
                self._least(0.0, is_open=False)
            else:
                self._most(0.0, is_open=False)
        else:
            below, above = _ends(value - now * err, slope, bend)
            self._least(below, is_open=zero != now)
            self._most(above, is_open=zero != now)

    def _turn(self, value: float, slope: float, turn: float, sign: int, closed: bool) -> None:
        """Note a decision that some later period takes otherwise; what only gets surer needs no note."""
        if turn * sign < 0 or (value == 0 and not closed):
            self.turning.append((value * sign, slope * sign, turn * sign, closed))

    def linear(self, value: float, slope: float, turn: float, zero: int) -> None:
        """`narrow` for what is affine and exact, which almost everything is."""
        now = 1 if value > 0 else -1 if value < 0 else zero
        if turn != 0:
            self._turn(value, slope, turn, now or 1, zero == now != 0)
        if slope == 0:
            return
        if value == 0:
            self.narrow(value, slope, 0.0, 0.0, 0.0, zero)
            return
        end = -value / slope
        if end > 0:
            if end < self.hi or (end == self.hi and zero != now):
                self.hi, self.hi_open = end, zero != now
        elif end > self.lo or (end == self.lo and zero != now):
            self.lo, self.lo_open = end, zero != now

    def _least(self, end: float, *, is_open: bool) -> None:
        if end > self.lo or (end == self.lo and is_open):
            self.lo, self.lo_open = end, is_open

    def _most(self, end: float, *, is_open: bool) -> None:
        if end < self.hi or (end == self.hi and is_open):
            self.hi, self.hi_open = end, is_open

    def near(self) -> None:
        """Speak for nothing farther away than the reach."""
        self._least(-self.reach, is_open=False)
        self._most(self.reach, is_open=False)

    def leaves(self, how: str) -> None:
        """The number leaves the model."""
        self.left = self.left or how

    def claim(self, least: int, most: int) -> Claim:
        """The whole d from `least` to `most` for which the path speaks."""
        if self.left:
            return Claim(0, 0, 0)
        first, last = least, most
        if self.lo >= least:
            first = floor(self.lo) + 1 if self.lo_open else ceil(self.lo)
        if self.hi <= most:
            last = ceil(self.hi) - 1 if self.hi_open else floor(self.hi)
        first, last = min(first, 0), max(last, 0)
        return Claim(first, last, self._turns(first, last))

    def _turns(self, first: int, last: int) -> int:
        if self.turnless:
            return 0
        most = 1 << 40
        for value, slope, turn, closed in self.turning:
            least = value + min(slope * first, slope * last)
            if turn >= 0 or least <= 0:
                return 0
            turns = least / -turn
            most = min(most, floor(turns) if closed else ceil(turns) - 1)
        return most


class Traced:
    """value + slope d + bend d^2 + turn k, give or take err, on a path."""

    __slots__ = ("bend", "err", "path", "slope", "turn", "value")

    def __init__(self, value: float, slope: float, turn: float, path: Path, err: float = 0.0,
                 bend: float = 0.0) -> None:
        self.value, self.slope, self.turn, self.path = value, slope, turn, path
        self.err, self.bend = err, bend

    def __repr__(self) -> str:
        self.path.leaves("repr()")
        return f"{self.value!r} + {self.slope!r} d + {self.bend!r} d^2 + {self.turn!r} k"

    def at(self, d: float, k: int = 0) -> float:
        """Its value at another d of the same path, k periods later."""
        return self.value + (self.slope + self.bend * d) * d + self.turn * k

    def _made(self, value: float, slope: float, bend: float, turn: float, err: float) -> Any:
        # A number that no longer depends on the moment is a plain one.
        if slope == 0 and bend == 0 and turn == 0 and err == 0:
            return value
        return Traced(value, slope, turn, self.path, err, bend)

    # --- arithmetic ---------------------------------------------------------------------------------------------

    def __add__(self, other: Any) -> Any:
        if type(other) is Traced:
            return self._made(self.value + other.value, self.slope + other.slope, self.bend + other.bend,
                              self.turn + other.turn, self.err + other.err)
        return Traced(self.value + other, self.slope, self.turn, self.path, self.err, self.bend)

    __radd__ = __add__

    def __sub__(self, other: Any) -> Any:
        if type(other) is Traced:
            # The same number taken from itself leaves nothing, its bound included.
            err = 0.0 if other is self else self.err + other.err
            return self._made(self.value - other.value, self.slope - other.slope, self.bend - other.bend,
                              self.turn - other.turn, err)
        return Traced(self.value - other, self.slope, self.turn, self.path, self.err, self.bend)

    def __rsub__(self, other: Any) -> Any:
        return Traced(other - self.value, -self.slope, -self.turn, self.path, self.err, -self.bend)

    def __neg__(self) -> Any:
        return Traced(-self.value, -self.slope, -self.turn, self.path, self.err, -self.bend)

    def __pos__(self) -> Any:
        return self

    def __abs__(self) -> Any:
        return -self if self < 0 else self

    def _size(self) -> float:
        """The most that it differs from its value within the reach."""
        reach = self.path.reach
        return abs(self.slope) * reach + abs(self.bend) * reach * reach + self.err

    def __mul__(self, other: Any) -> Any:
        if type(other) is not Traced:
            return self._made(self.value * other, self.slope * other, self.bend * other, self.turn * other,
                              abs(other) * self.err)
        if self.turn != 0 or other.turn != 0:
            self.path.turnless = True
        reach = self.path.reach
        err = (abs(self.slope * other.bend + self.bend * other.slope) + abs(self.bend * other.bend) * reach) * reach**3
        if self.err != 0 or other.err != 0:
            err += (abs(self.value) + self._size()) * other.err + (abs(other.value) + other._size()) * self.err
        if err != 0:
            self.path.near()
        return self._made(
            self.value * other.value,
            self.value * other.slope + self.slope * other.value,
            self.value * other.bend + self.slope * other.slope + self.bend * other.value,
            0.0,
            err,
        )

    __rmul__ = __mul__

    def _series(self, first: float, second: float, third: float, fourth: float, how: str) -> Any:
        """first (1 + second x + third x^2 +- fourth |x|^3), x being the change of this number by its value."""
        path = self.path
        path.near()
        if self.turn != 0:
            path.turnless = True
        most = self._size() / abs(self.value) if self.value != 0 else inf
        if most > STEEP:
            path.steep = True
            path.leaves(how)
            return first
        s, b, e = self.slope / self.value, self.bend / self.value, self.err / abs(self.value)
        err = abs(third) * (2 * abs(s * b) * path.reach**3 + b * b * path.reach**4) + fourth * most**3
        err += (abs(second) + 2 * abs(third) * most) * e
        return self._made(first, first * second * s, first * (second * b + third * s * s), 0.0, abs(first) * err)

    def root(self) -> Any:
        """Its square root."""
        # The third derivative of sqrt(1 + x) is 3/8 (1 + x)^(-5/2), at most 3/8 * 2^(5/2) where x >= -STEEP.
        return self._series(root(self.value), 0.5, -0.125, 2.0**2.5 / 16, "the root of what is next to nothing")

    def _inverse(self) -> Any:
        """1 / itself; its third derivative is 6 (1 + x)^-4, at most 6 * 16."""
        if self.value == 0:
            raise ZeroDivisionError("division by zero")
        return self._series(1 / self.value, -1.0, 1.0, 16.0, "division by what is next to nothing")

    def __truediv__(self, other: Any) -> Any:
        if type(other) is Traced:
            return self * other._inverse()
        return Traced(self.value / other, self.slope / other, self.turn / other, self.path, self.err / abs(other),
                      self.bend / other)

    def __rtruediv__(self, other: Any) -> Any:
        return self._inverse() * other

    def late(self) -> Any:
        """Where a plain number is rounded, this one waits until its path is laid."""
        return self

    def __floordiv__(self, other: Any) -> Any:
        if type(other) is Traced:
            self.path.leaves("//")
            return self.value // other.value
        whole = self.value // other
        turns = self.turn / other
        whole_turns = turns == turns // 1
        # Decided by two comparisons: whole <= self / other < whole + 1, in each period anew where it is a whole one.
        turn = 0.0 if whole_turns else self.turn
        self.path.narrow(self.value - whole * other, self.slope, self.bend, turn, self.err, 1)
        self.path.narrow(self.value - (whole + 1) * other, self.slope, self.bend, turn, self.err, 1)
        return self._made(whole, 0.0, 0.0, turns if whole_turns else 0.0, 0.0)

    def __rfloordiv__(self, other: Any) -> Any:
        self.path.leaves("//")
        return other // self.value

    # --- decisions ----------------------------------------------------------------------------------------------

    def _less(self, other: Any, zero: int) -> float:
        if type(other) is Traced:
            value: float = self.value - other.value
            if self.bend == 0 == other.bend and self.err == 0 == other.err:
                slope, turn = self.slope - other.slope, self.turn - other.turn
                if slope != 0 or turn != 0:
                    self.path.linear(value, slope, turn, zero)
                return value
            self.path.narrow(value, self.slope - other.slope, self.bend - other.bend, self.turn - other.turn,
                             0.0 if other is self else self.err + other.err, zero)
            return value
        value = self.value - other
        if value in (inf, -inf):
            return value  # against FOREVER
        if self.bend == 0 == self.err:
            self.path.linear(value, self.slope, self.turn, zero)
        else:
            self.path.narrow(value, self.slope, self.bend, self.turn, self.err, zero)
        return value

    def __lt__(self, other: Any) -> bool:
        return self._less(other, 1) < 0

    def __le__(self, other: Any) -> bool:
        return self._less(other, -1) <= 0

    def __gt__(self, other: Any) -> bool:
        return self._less(other, -1) > 0

    def __ge__(self, other: Any) -> bool:
        return self._less(other, 1) >= 0

    def __eq__(self, other: object) -> bool:
        if self.path.deaf:
            return self is other
        if not isinstance(other, int | float | Traced):
            return NotImplemented
        return self._less(other, 0) == 0

    def __ne__(self, other: object) -> bool:
        if self.path.deaf:
            return self is not other
        if not isinstance(other, int | float | Traced):
            return NotImplemented
        return self._less(other, 0) != 0

    def __bool__(self) -> bool:
        return self._less(0.0, 0) != 0

    # --- ways out of the model ----------------------------------------------------------------------------------

    def __hash__(self) -> int:
        self.path.leaves("hash()")
        return hash(self.value)

    def __float__(self) -> float:
        self.path.leaves("float()")
        return float(self.value)

    def __int__(self) -> int:
        self.path.leaves("int()")
        return int(self.value)

    def __trunc__(self) -> int:
        self.path.leaves("int()")
        return int(self.value)

    def __index__(self) -> int:
        self.path.leaves("an index")
        return int(self.value)

    def __round__(self, digits: int | None = None) -> Any:
        self.path.leaves("round()")
        return round(self.value, digits)

    def __floor__(self) -> int:
        self.path.leaves("floor()")
        return floor(self.value)

    def __ceil__(self) -> int:
        self.path.leaves("ceil()")
        return ceil(self.value)

    def __mod__(self, other: Any) -> Any:
        self.path.leaves("%")
        return self.value % _plain(other)

    def __rmod__(self, other: Any) -> Any:
        self.path.leaves("%")
        return other % self.value

    def __divmod__(self, other: Any) -> Any:
        self.path.leaves("divmod()")
        return divmod(self.value, _plain(other))

    def __pow__(self, other: Any) -> Any:
        self.path.leaves("**")
        return self.value ** _plain(other)

    def __format__(self, spec: str) -> str:
        self.path.leaves("formatting")
        return format(self.value, spec)

    def __str__(self) -> str:
        self.path.leaves("str()")
        return str(self.value)


def _plain(number: Any) -> Any:
    return number.value if type(number) is Traced else number
