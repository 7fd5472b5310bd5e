"""Regular instants: phase + n * period for n = 0, 1, 2, …"""

from __future__ import annotations

from gatesim.units import whole


def first_index(t: float, phase: int, period: float) -> int:
    """Index n >= 0 of the first instant phase + n * period at or after `t`.

    The division only guesses; plain comparisons decide, so that no rounding of `t` can shift the index.
    """
    if type(t) is int and type(phase) is int and type(period) is int:
        return -((phase - t) // period) if t > phase else 0
    n = whole((t - phase) // period)
    if n < 0:
        n = 0
    while phase + n * period < t:
        n += 1
    while n > 0 and phase + (n - 1) * period >= t:
        n -= 1
    return n


def made_by(t: float, phase: int, period: float) -> int:
    """How many of the instants phase + n * period have come by `t`, one exactly at `t` included."""
    if type(t) is int and type(phase) is int and type(period) is int:
        return (t - phase) // period + 1 if t >= phase else 0
    n = first_index(t, phase, period)
    return n + 1 if phase + n * period <= t else n
