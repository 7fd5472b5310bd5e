"""One step of p'' = pull(p, p'): the fifth-order rule with its error, and the exact one under constant acceleration."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

Slope = Callable[[float, float], float]
"""Acceleration over progress and speed."""

NO = 1e-15
"""An acceleration below this (um/us^2) is the rounding of none."""
_ROUGH_X, _ROUGH_V = 0.05, 1e-7
"""Error of a step at its end (um, um/us)."""


class Step(NamedTuple):
    """A tried step: how far, how much faster, its errors, the acceleration at its end, and the constant one or None."""

    h: float
    dp: float
    dw: float
    error: float
    last: float
    constant: float | None


def halves(h: float, dp: float, dw: float, w: float) -> tuple[float, float]:
    """Accelerations of the two halves of a step that ends at its place and speed."""
    mean, extra = dw / h, 4 * (dp - w * h) / (h * h)
    return extra - mean, 3 * mean - extra


def constant_step(w: float, a: float, h: float) -> Step:
    """A step under constant acceleration."""
    return Step(h, (w + a * h / 2) * h, a * h, 0.0, a, a)


def dormand_prince(pull: Slope, p: float, w: float, a1: float, h: float) -> Step:
    """One step of p'' = pull(p, p') from p, w, where it is a1 (Dormand and Prince, 1980: 5th order, embedded 4th)."""
    w2 = w + h * a1 / 5
    a2 = pull(p + h * w / 5, w2)
    w3 = w + h * (3 * a1 + 9 * a2) / 40
    a3 = pull(p + h * (3 * w + 9 * w2) / 40, w3)
    w4 = w + h * (44 * a1 / 45 - 56 * a2 / 15 + 32 * a3 / 9)
    a4 = pull(p + h * (44 * w / 45 - 56 * w2 / 15 + 32 * w3 / 9), w4)
    w5 = w + h * (19372 * a1 / 6561 - 25360 * a2 / 2187 + 64448 * a3 / 6561 - 212 * a4 / 729)
    a5 = pull(p + h * (19372 * w / 6561 - 25360 * w2 / 2187 + 64448 * w3 / 6561 - 212 * w4 / 729), w5)
    w6 = w + h * (9017 * a1 / 3168 - 355 * a2 / 33 + 46732 * a3 / 5247 + 49 * a4 / 176 - 5103 * a5 / 18656)
    a6 = pull(p + h * (9017 * w / 3168 - 355 * w2 / 33 + 46732 * w3 / 5247 + 49 * w4 / 176 - 5103 * w5 / 18656), w6)
    dp = h * (35 * w / 384 + 500 * w3 / 1113 + 125 * w4 / 192 - 2187 * w5 / 6784 + 11 * w6 / 84)
    dw = h * (35 * a1 / 384 + 500 * a3 / 1113 + 125 * a4 / 192 - 2187 * a5 / 6784 + 11 * a6 / 84)
    w7 = w + dw
    a7 = pull(p + dp, w7)
    if a1 == a2 == a3 == a4 == a5 == a6 == a7:
        return constant_step(w, a1, h)
    if all(-NO < a < NO for a in (a1, a2, a3, a4, a5, a6, a7)):
        return constant_step(w, 0.0, h)
    off_p = h * (71 * w / 57600 - 71 * w3 / 16695 + 71 * w4 / 1920 - 17253 * w5 / 339200 + 22 * w6 / 525 - w7 / 40)
    off_w = h * (71 * a1 / 57600 - 71 * a3 / 16695 + 71 * a4 / 1920 - 17253 * a5 / 339200 + 22 * a6 / 525 - a7 / 40)
    error = max(off_p if off_p > 0 else -off_p, (off_w if off_w > 0 else -off_w) * _ROUGH_X / _ROUGH_V) / _ROUGH_X
    return Step(h, dp, dw, error, a7, None)
