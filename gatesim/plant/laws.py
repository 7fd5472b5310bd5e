"""The acceleration of a leaf along a stretch of its way, over progress and speed (docs/timing.md, section 11).

Along a stretch the resistance is `offset + slope p` (mN).  `wanted`: what the drive wants of its own way (um/us^2),
None where it gives no thrust and `brake` (mN of the drive's way) holds the leaf back.
"""

from __future__ import annotations

from collections.abc import Callable

from gatesim.plant.arms import Arm
from gatesim.plant.curve import MN_PER_KG
from gatesim.plant.dynamics import Dynamics
from gatesim.plant.steps import Slope

Bounds = Callable[[float, float], tuple[float, float, float, float]]
"""Over progress and speed: acceleration wanted, the most and the least that the thrust gives, and line less limit."""


def straight(forces: Dynamics, offset: float, slope: float, brake: float,
             wanted: float | None) -> tuple[Slope, Bounds | None]:
    """Of a sliding or lifting leaf: the drive goes the leaf's way."""
    heavy = (forces.mass + forces.rotor) * MN_PER_KG
    if wanted is None:
        braked = offset + brake
        return (lambda p, w: -(braked + slope * p) / heavy), None
    asked, stall, most, per = wanted, forces.stall, forces.most, forces.stall / forces.free

    def bounds(p: float, w: float) -> tuple[float, float, float, float]:
        held, line, hold = offset + slope * p, stall - per * w, per * w
        return (asked, ((line if line < most else most) - held) / heavy,
                (-(hold if hold < most else most) - held) / heavy, (line - most) / heavy)

    return _within(bounds), bounds


def through_arm(forces: Dynamics, arm: Arm, sign: int, offset: float, slope: float, brake: float,
                wanted: float | None) -> tuple[Slope, Bounds | None]:
    """Of a swinging leaf: drive speed is ratio w, and mass and thrust change with the ratio."""
    mass, rotor, geometry = forces.mass, forces.rotor, arm.at
    stall, most, per = forces.stall, forces.most, forces.stall / forces.free

    def freely(p: float, w: float) -> float:
        _, ratio, bend = geometry(p * sign)
        held = offset + slope * p + rotor * MN_PER_KG * ratio * bend * sign * w * w
        return -(held + ratio * brake) / ((mass + rotor * ratio * ratio) * MN_PER_KG)

    if wanted is None:
        return freely, None
    asked = wanted

    def bounds(p: float, w: float) -> tuple[float, float, float, float]:
        _, ratio, bend = geometry(p * sign)
        bend *= sign * w * w
        heavy = (mass + rotor * ratio * ratio) * MN_PER_KG
        held, speed = offset + slope * p + rotor * MN_PER_KG * ratio * bend, ratio * w
        line, hold = stall - per * speed, per * speed
        return ((asked - bend) / ratio, (ratio * (line if line < most else most) - held) / heavy,
                (-ratio * (hold if hold < most else most) - held) / heavy, (line - most) / heavy)

    return _within(bounds), bounds


def _within(bounds: Bounds) -> Slope:
    """What is wanted, within what the thrust can do."""

    def pull(p: float, w: float) -> float:
        wanted, most, least, _ = bounds(p, w)
        a = wanted if wanted < most else most
        return a if a > least else least

    return pull
