"""Nuisance trips of a watchdog, in closed form: the link stands, and so many frames in a row are lost all the same.

A frame is lost with chance p, or by a path of two states (Gilbert, Elliott): good turns bad with chance a and bad turns
good with chance r before each frame, and a frame is lost with a chance of the state then.  k losses in a row trip.
Nothing here is drawn.  Arithmetic is plain, so that fractions give exact results; no published source for the sums but
those named.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from typing import Any

Number = Any
"""A float, or a Fraction for an exact result."""

MOST_LOSSES = 400
"""More losses in a row than this are not summed: their chance is none that a year shows."""


@dataclass(frozen=True, slots=True)
class Path:
    """Loss from frame to frame; `worse` 0 leaves the good state, so each frame is lost for itself."""

    loss_in_good: Number
    worse: Number = 0
    better: Number = 1
    loss_in_bad: Number = 1

    @property
    def share_bad(self) -> Number:
        """Of the frames, in the long run: a / (a + r)."""
        return self.worse / (self.worse + self.better)

    @property
    def mean_loss(self) -> Number:
        """(a l_bad + r l_good) / (a + r)."""
        return (self.worse * self.loss_in_bad + self.better * self.loss_in_good) / (self.worse + self.better)


def frames_to_trip(path: Path, k: int) -> Number | None:
    """Mean number of frames to k losses in a row, the path good at first; None: it never comes, or k is 0.

    Each frame for itself: (1 - p^k) / (q p^k) (Feller).  With two states the (2k)-state chain "state, lost in a row so
    far" is solved: its matrix is zero but for a step on and a step back to none, so E_0 = c + M E_0 with
    M = sum A^i B, c = sum A^i 1, A = P diag(loss), B = P diag(1 - loss).  That is near-singular and would cost floats
    their digits, so it is done in whole numbers: the result is an exact Fraction.
    """
    if k < 1 or k > MOST_LOSSES:
        return None
    if path.worse == 0:
        lost: Number = path.loss_in_good**k
        return (1 - lost) / ((1 - path.loss_in_good) * lost) if 0 < lost < 1 else (None if lost == 0 else k)
    on, back = _step(Path(*(Fraction(one) for one in (path.loss_in_good, path.worse, path.better, path.loss_in_bad))))
    entries = [one for matrix in (on, back) for row in matrix for one in row]
    unit = lcm(*(one.denominator for one in entries))
    on, back = (tuple([tuple([int(one * unit) for one in row]) for row in matrix]) for matrix in (on, back))
    # From here on power, m and c are whole numbers over unit^i, unit^(i + 1) and unit^i.
    power, m, c, scale = ((1, 0), (0, 1)), ((0, 0), (0, 0)), (0, 0), 1
    for _ in range(k):
        m = _plus(_times(m, ((unit, 0), (0, unit))), _times(power, back))
        c = (c[0] * unit + sum(power[0]) * unit, c[1] * unit + sum(power[1]) * unit)
        power, scale = _times(power, on), scale * unit
    # 1 - M and c are over unit^k now.
    det = (scale - m[0][0]) * (scale - m[1][1]) - m[0][1] * m[1][0]
    return None if det == 0 else Fraction((scale - m[1][1]) * c[0] + m[0][1] * c[1], det)


def exact_frames_to_trip(path: Path, k: int) -> float | None:
    """The same from exact fractions, as a float (inf: more than a float can say)."""
    whole = Path(*(Fraction(one) for one in (path.loss_in_good, path.worse, path.better, path.loss_in_bad)))
    found = frames_to_trip(whole, k)
    if found is None:
        return None
    return float(found) if found < Fraction(10) ** 300 else float("inf")


def _times(x: Any, y: Any) -> Any:
    return tuple([tuple([x[i][0] * y[0][j] + x[i][1] * y[1][j] for j in (0, 1)]) for i in (0, 1)])


def _plus(x: Any, y: Any) -> Any:
    return tuple([tuple([x[i][j] + y[i][j] for j in (0, 1)]) for i in (0, 1)])


def trip_by(path: Path, k: int, frames: int) -> Number:
    """The chance of k losses in a row within so many frames, the path good at first.

    Each frame for itself it is the sum of q p^k R(i - k - 1), with R(i) the chance of none by i; 1 - R would be 0.0 in
    floats where the chance is small.  With two states the same is done with vectors: u_n, the chance of a frame that
    arrives after n frames, by state; then u_n = S_n B, S_(n+1) = u_n + S_n A - u_(n-k) A^k, and a trip at n has the
    chance u_(n-k) A^k 1.
    """
    if k < 1 or k > MOST_LOSSES:
        return 0.0 if k else 1.0
    if path.worse == 0:
        return _run_by(path.loss_in_good, k, frames)
    return _bursts_by(path, k, frames)


def _run_by(p: Number, k: int, frames: int) -> Number:
    first = p**k
    if frames < k or first == 0:
        return 0 * p
    each, none, found = (1 - p) * first, [1 + 0 * p] * k + [1 - first], first
    for i in range(k + 1, frames + 1):
        more = each * none[i - k - 1]
        found += more
        none.append(none[-1] - more)
    return found


def _bursts_by(path: Path, k: int, frames: int) -> Number:
    on, back = _step(path)
    power = on
    for _ in range(k - 1):
        power = _times(power, on)
    one = path.worse / path.worse
    arrived: list[tuple[Number, Number]] = [(one, 0 * one)]
    going, found = arrived[0], 0 * one
    for n in range(1, frames + 1):
        lost = _vector(arrived[n - k], power) if n >= k else (0 * one, 0 * one)
        found += lost[0] + lost[1]
        arrived.append(_vector(going, back))
        on_top = _vector(going, on)
        going = (arrived[n][0] + on_top[0] - lost[0], arrived[n][1] + on_top[1] - lost[1])
    return found


def _step(path: Path) -> tuple[Any, Any]:
    """A = P diag(loss) and B = P diag(1 - loss)."""
    a, r, one = path.worse, path.better, path.worse / path.worse
    step, loss = ((one - a, a), (r, one - r)), (path.loss_in_good, path.loss_in_bad)
    on = tuple([tuple([row[j] * loss[j] for j in (0, 1)]) for row in step])
    return on, tuple([tuple([row[j] * (1 - loss[j]) for j in (0, 1)]) for row in step])


def _vector(x: Any, y: Any) -> tuple[Number, Number]:
    return (x[0] * y[0][0] + x[1] * y[1][0], x[0] * y[0][1] + x[1] * y[1][1])


def tripped(losses: Sequence[tuple[Number, Number]], k: int, worse: Number = 0, better: Number = 1) -> Number:
    """The chance of k losses in a row over frames with these losses in the good and the bad state.

    So a loss that changes along the travel is summed frame by frame.
    """
    if k < 1 or k > MOST_LOSSES:
        return 0.0 if k else 1.0
    good: list[Number] = [1] + [0] * (k - 1)
    bad: list[Number] = [0] * k
    found: Number = 0
    for loss_good, loss_bad in losses:
        to_good = [g * (1 - worse) + b * better for g, b in zip(good, bad, strict=True)]
        to_bad = [g * worse + b * (1 - better) for g, b in zip(good, bad, strict=True)]
        found += to_good[-1] * loss_good + to_bad[-1] * loss_bad
        good = [sum(to_good) * (1 - loss_good), *[one * loss_good for one in to_good[:-1]]]
        bad = [sum(to_bad) * (1 - loss_bad), *[one * loss_bad for one in to_bad[:-1]]]
    return found
