"""What one run with a traced moment has decided: the interval of moments for which it speaks (see `traced`)."""

from __future__ import annotations

from collections.abc import Callable
from math import ceil, floor, inf
from math import sqrt as root
from typing import Any, NamedTuple

REACH = 32_768.0
"""How far from its moment (us) a run speaks that met a root or quotient, unless its path says less."""
LEAST_REACH = 0.5
"""Below it (us) a run speaks for its own moment only, whatever it meets."""


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


class Decision(NamedTuple):
    """A decision by the sign of value + slope d + bend d^2 + turn k, give or take err |d|^3; `zero` as in `narrow`."""

    value: float
    slope: float
    bend: float
    turn: float
    err: float
    zero: int

    def kind(self) -> tuple[Any, ...]:
        """What two decisions have in common of which the one with the smaller value says all."""
        return (self.slope, self.bend, self.turn, self.err, self.zero, (self.value > 0) - (self.value < 0))

    def holds(self, d: float, k: int) -> bool:
        """Whether it falls the same way at a moment that lies d, and k periods, ahead."""
        value, zero = self.value, self.zero
        if self.err != 0:
            return False  # what was left out is known near its own moment only
        there = value + (self.slope + self.bend * d) * d + self.turn * k
        if there > 0:
            return value > 0 or (value == 0 and zero > 0)
        if there < 0:
            return value < 0 or (value == 0 and zero < 0)
        return ((value > 0) - (value < 0) or zero) == zero

    def again(self, path: Path, d: float, k: int) -> None:
        """The same decision at a moment that lies d, and k periods, ahead."""
        value = self.value + (self.slope + self.bend * d) * d + self.turn * k
        path.narrow(value, self.slope + 2 * self.bend * d, self.bend, self.turn, self.err, self.zero)


class Path:
    """What one run has decided.  An end of the interval is `open` where the decision falls otherwise exactly there."""

    __slots__ = ("decisions", "hi", "hi_open", "left", "lo", "lo_open", "ordering", "reach", "same", "steep",
                 "turning", "turnless")

    def __init__(self, reach: float = REACH) -> None:
        self.reach = reach
        self.same: Callable[[Any, Any], bool] | None = None
        """How traced numbers are compared while whole worlds are: no decision is noted."""
        self.decisions: list[Decision] | None = None
        """All that was decided, in order, where somebody wants to know (see `trail`)."""
        self.ordering = False
        """What is compared now is who comes next, of which the claim is made afterwards (see `ordering`)."""
        self.steep = False
        """Something changed too much within any reach, so that the run speaks for its own moment only."""
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
        if self.decisions is not None:
            self.decisions.append(Decision(value, slope, bend, turn, err, zero))
        now = (value > 0) - (value < 0) or zero
        if turn != 0:
            self._turn(value, slope, turn, now or 1, zero == now != 0)
            if bend != 0 or err != 0:
                self.turnless = True
        if slope == 0 and bend == 0 and err == 0:
            return
        if value == 0 and now == 0:
            self.lo = self.hi = 0.0
            self.lo_open = self.hi_open = False
        elif err != 0:
            self._bounded(value, slope, bend, err, now)
        elif value == 0:
            if (slope > 0) == (now > 0):
                self._least(0.0, is_open=False)
            else:
                self._most(0.0, is_open=False)
        else:
            below, above = _ends(value, slope, bend)
            self._least(below, is_open=zero != now)
            self._most(above, is_open=zero != now)

    def _bounded(self, value: float, slope: float, bend: float, err: float, now: int) -> None:
        """The same for a number of which err |d|^3 was left out: the less far, the less was."""
        below = above = 0.0
        near = self.reach
        while near >= LEAST_REACH and (below > -near or above < near):
            left = now * err * near**3
            if abs(value) > abs(left):
                low, high = _ends(value - left, slope, bend)
                below, above = min(below, max(low, -near)), max(above, min(high, near))
            elif value == 0:
                # It has its sign beside nothing where the slope outweighs all else.
                sure = abs(slope) > abs(bend) * near + err * near * near
                above = max(above, near) if sure and (slope > 0) == (now > 0) else above
                below = min(below, -near) if sure and (slope > 0) != (now > 0) else below
            near /= 2
        self._least(below, is_open=below != 0)
        self._most(above, is_open=above != 0)

    def _turn(self, value: float, slope: float, turn: float, sign: int, closed: bool) -> None:
        """Note a decision that some later period takes otherwise; what only gets surer needs no note."""
        if turn * sign < 0 or (value == 0 and not closed):
            self.turning.append((value * sign, slope * sign, turn * sign, closed))

    def linear(self, value: float, slope: float, turn: float, zero: int) -> None:
        """`narrow` for what is affine and exact, which almost everything is."""
        if value == 0:
            self.narrow(value, slope, 0.0, turn, 0.0, zero)
            return
        if self.decisions is not None:
            self.decisions.append(Decision(value, slope, 0.0, turn, 0.0, zero))
        now = 1 if value > 0 else -1
        if turn != 0:
            self._turn(value, slope, turn, now, zero == now)
        if slope == 0:
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

    def kept(self) -> tuple[Any, ...]:
        """All that was decided so far, to go back to."""
        return (self.reach, self.steep, self.lo, self.hi, self.lo_open, self.hi_open, self.turnless, self.left,
                self.turning[:])

    def back(self, kept: tuple[Any, ...]) -> None:
        """Forget what was decided since."""
        (self.reach, self.steep, self.lo, self.hi, self.lo_open, self.hi_open, self.turnless, self.left,
         self.turning) = kept

    def near(self) -> None:
        """Speak for nothing farther away than the reach."""
        self.within(self.reach)

    def within(self, far: float) -> None:
        """Speak for nothing farther away."""
        self._least(-far, is_open=False)
        self._most(far, is_open=False)

    def leaves(self, how: str, *, steep: bool = False) -> None:
        """The number leaves the model; `steep`: only because it changes too much within any reach."""
        self.steep = self.steep or (steep and not self.left)
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
