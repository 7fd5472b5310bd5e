"""The arm of a swinging leaf: how far the drive turns or pushes for each place of the closing edge, as a table.

Made when a site is loaded (sin, cos and their like); asked inside an instant with + - * / only.  The drive's own way is
scaled so that it is as fast as the closing edge where that is fastest, and faster everywhere else.  Geometry of two
points and of a four-bar linkage by the law of cosines; docs/timing.md, section 11.
"""

from __future__ import annotations

from functools import lru_cache
from math import acos, atan2, cos, hypot, pi, sin, sqrt
from typing import NamedTuple

from gatesim.plant.loads import ArmKind, Swing
from gatesim.units import whole

INTERVALS = 512
"""Of the table over the travel."""
LEAST_LEVER = 0.02
"""Drive speed per edge speed below this share of its largest counts as a dead centre (ours)."""


class Arm(NamedTuple):
    """Drive way over the travel: `way[k]` (um) and `ratio[k]` = d way / d x at x = k / per_um, at least 1.

    `raw`: what one um of the drive's way is in its own (um of ram, or of an arc at the pinion's radius).
    """

    per_um: float
    way: tuple[float, ...]
    ratio: tuple[float, ...]
    raw: float

    def at(self, x: float) -> tuple[float, float, float]:
        """Drive way, its ratio to x and that ratio's slope (1/um) at x: the cubic through both tables."""
        here = x * self.per_um
        k = whole(here // 1)
        k = 0 if k < 0 else k if k < INTERVALS else INTERVALS - 1
        u, h = here - k, 1 / self.per_um
        s0, n0, n1 = self.way[k], self.ratio[k] * h, self.ratio[k + 1] * h
        rise = self.way[k + 1] - s0
        c2, c3 = 3 * rise - 2 * n0 - n1, n0 + n1 - 2 * rise
        return (s0 + u * (n0 + u * (c2 + u * c3)), (n0 + u * (2 * c2 + 3 * u * c3)) / h,
                (2 * c2 + 6 * u * c3) / (h * h))

    def place_of(self, way: float) -> float:
        """Where the closing edge is at this drive way (um), by Newton's rule; ends of the travel beyond it."""
        if way <= self.way[0]:
            return 0.0
        last = INTERVALS / self.per_um
        if way >= self.way[-1]:
            return last
        x = last * way / self.way[-1]
        for _ in range(60):
            found, ratio, _ = self.at(x)
            step = (way - found) / ratio
            x = min(max(x + step, 0.0), last)
            if -1e-7 < step < 1e-7:
                break
        return x


class OutOfReach(ValueError):
    """The arm can't follow the leaf; `remedy` says what would do."""

    def __init__(self, message: str, remedy: str) -> None:
        super().__init__(message)
        self.message, self.remedy = message, remedy


@lru_cache(maxsize=64)
def arm_of(swing: Swing, travel: float, pinion_radius: float) -> Arm:
    """The table of an arm.  Raises OutOfReach."""
    angle = travel / swing.leaf_width
    if angle > pi:
        raise OutOfReach(f"the leaf would turn by {angle * 180 / pi:.0f} degrees",
                         "make travel at most half a turn of leaf_width")
    raw = [_drive(swing, k * angle / INTERVALS, pinion_radius) for k in range(INTERVALS + 1)]
    sign = 1 if raw[INTERVALS // 2][1] > 0 else -1
    ratios = [sign * slope / swing.leaf_width for _, slope in raw]
    if min(ratios) < LEAST_LEVER * max(ratios):
        k = ratios.index(min(ratios))
        degrees = k * angle / INTERVALS * 180 / pi
        raise OutOfReach(f"the drive is at or near a dead centre with the leaf at {degrees:.0f} degrees",
                         "move pivot or bracket so that the drive keeps a lever over the whole travel")
    least = min(ratios)
    start = raw[0][0]
    return Arm(INTERVALS / travel, tuple(sign * (way - start) / least for way, _ in raw),
               tuple(ratio / least for ratio in ratios), least)


def _drive(swing: Swing, turned: float, radius: float) -> tuple[float, float]:
    """The drive's way (um) and its slope over the leaf's angle (um/rad) with the leaf turned by an angle."""
    c, s = cos(turned), sin(turned)
    x = swing.bracket * c - swing.bracket_out * s + swing.pivot_back
    y = swing.bracket * s + swing.bracket_out * c - swing.pivot_out
    dx, dy = -swing.bracket * s - swing.bracket_out * c, swing.bracket * c - swing.bracket_out * s
    apart = hypot(x, y)
    if apart == 0:
        raise OutOfReach("the bracket meets the drive's pivot", "move one of them")
    slope = (x * dx + y * dy) / apart
    if swing.arm is ArmKind.RAM:
        return apart, slope
    p, q = swing.arm_length, swing.link_length
    if not abs(p - q) < apart < p + q:
        degrees = turned * 180 / pi
        raise OutOfReach(f"the arm can't reach the bracket with the leaf at {degrees:.0f} degrees: they are "
                         f"{apart / 1000:.0f} mm apart", "arm_length and link_length together must be longer than "
                         "that, and their difference shorter")
    cosine = (p * p + apart * apart - q * q) / (2 * p * apart)
    bent = (apart * apart - p * p + q * q) / (2 * p * apart * apart) * slope
    return (radius * (atan2(y, x) + acos(cosine)),
            radius * ((x * dy - y * dx) / (apart * apart) - bent / sqrt(1 - cosine * cosine)))
