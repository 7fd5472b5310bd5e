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

A quotient, a root or a product of higher degree is a polynomial of degree two no more: it carries `err`, so that what
was left out is at most err |d|^3 within the reach of the path.  A run in which there is one speaks for no moment
farther away, nor for one at which the bound leaves a decision open.  What is steep (the root of what is next to
nothing) makes the reach less.

A number that leaves the model (`int()`, `float()`, a hash, an index, `%`, formatting) is noted on the path as `left`:
decisions may depend on it of which nothing is known, and the run speaks for its own moment only.
"""

from __future__ import annotations

from math import ceil, floor, inf
from math import sqrt as root
from typing import Any

from gatesim.search.path import LEAST_REACH, Path

STEEP = 0.5
"""The share by which what is under a root, or divides, may change within the reach; beyond it nothing is claimed."""


class Traced:
    """value + slope d + bend d^2 + turn k, give or take err |d|^3, on a path."""

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
        return ((self.err * reach + abs(self.bend)) * reach + abs(self.slope)) * reach

    def __mul__(self, other: Any) -> Any:
        if type(other) is not Traced:
            return self._made(self.value * other, self.slope * other, self.bend * other, self.turn * other,
                              abs(other) * self.err)
        if self.turn != 0 or other.turn != 0:
            self.path.turnless = True
        err = abs(self.slope * other.bend + self.bend * other.slope) + abs(self.bend * other.bend) * self.path.reach
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
        if self.turn != 0:
            path.turnless = True
        least = STEEP * abs(self.value)
        while (most := self._size()) > least:
            if path.reach <= LEAST_REACH:
                path.leaves(how, steep=True)
                return first
            path.reach /= 2
        path.near()
        most /= abs(self.value)
        s, b, e = self.slope / self.value, self.bend / self.value, self.err / abs(self.value)
        err = abs(third) * (2 * abs(s * b) + b * b * path.reach) + fourth * (most / path.reach)**3
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
            if self.path.ordering:
                return value
            return self._beside(other, value, zero)
        value = self.value - other
        if self.path.ordering or value in (inf, -inf):
            return value  # who comes next; or against FOREVER
        if self.bend == 0 == self.err:
            self.path.linear(value, self.slope, self.turn, zero)
        else:
            self.path.narrow(value, self.slope, self.bend, self.turn, self.err, zero)
        return value

    def _beside(self, other: Traced, value: float, zero: int) -> float:
        """The same for two that are traced, whose values differ so much."""
        if self.bend == 0 == other.bend and self.err == 0 == other.err:
            slope, turn = self.slope - other.slope, self.turn - other.turn
            if slope != 0 or turn != 0:
                self.path.linear(value, slope, turn, zero)
        elif value != 0 or not self._is(other):
            self.path.narrow(value, self.slope - other.slope, self.bend - other.bend, self.turn - other.turn,
                             0.0 if other is self else self.err + other.err, zero)
        return value

    def _is(self, other: Traced) -> bool:
        """Whether it is the same number made anew: all that is known of both is equal to the last digit, the bound of
        what was left out included, which two formulas, or one formula on two numbers, do not come to."""
        return (self.slope, self.bend, self.turn, self.err) == (other.slope, other.bend, other.turn, other.err)

    def __lt__(self, other: Any) -> bool:
        return self._less(other, 1) < 0

    def __le__(self, other: Any) -> bool:
        return self._less(other, -1) <= 0

    def __gt__(self, other: Any) -> bool:
        return self._less(other, -1) > 0

    def __ge__(self, other: Any) -> bool:
        return self._less(other, 1) >= 0

    def __eq__(self, other: object) -> bool:
        if self.path.same is not None:
            return self.path.same(self, other)
        if not isinstance(other, int | float | Traced):
            return NotImplemented
        return self._equal(other)

    def __ne__(self, other: object) -> bool:
        if self.path.same is not None:
            return not self.path.same(self, other)
        if not isinstance(other, int | float | Traced):
            return NotImplemented
        return not self._equal(other)

    def _equal(self, other: Any) -> bool:
        """Equality decides what a wire wakes, never who comes next: it counts even where the order does not."""
        was, self.path.ordering = self.path.ordering, False
        equal = self._less(other, 0) == 0
        self.path.ordering = was
        return equal

    def __bool__(self) -> bool:
        return not self._equal(0.0)

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
