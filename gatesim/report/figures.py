"""Figures for people: whole numbers of a trace or verdict with a unit that can be read."""

from __future__ import annotations

from gatesim import shown
from gatesim.requirements.verdict import Figures, Measure

_SECOND = 1_000_000
_DAY = 86_400 * _SECOND


def quantity(value: int, measure: Measure) -> str:
    """One figure with its unit: "312.4 ms", "18.0 mm", "400.0 N", "3"."""
    if measure is Measure.US:
        return duration(value)
    if measure is Measure.UM:
        return shown.mm(value, 1)
    if measure is Measure.MN:
        return shown.force(value, 1)
    return str(value)


def duration(value: int) -> str:
    """A duration (us): milliseconds, above 10 s seconds, above two days days."""
    if abs(value) >= 2 * _DAY:
        return f"{value / _DAY:.1f} days"
    if abs(value) >= 10 * _SECOND:
        return f"{value / _SECOND:.3f} s"
    return f"{value / 1000:.1f} ms"


def margin(value: int, measure: Measure) -> str:
    """A margin, its sign always shown: positive is inside the limit."""
    return f"{'+' if value >= 0 else ''}{quantity(value, measure)}"


def instant(at: float) -> str:
    """An instant (us) as seconds with milliseconds: "12.345 s"."""
    return f"{at / _SECOND:.3f} s"


def figures(got: Figures, measure: Measure) -> str:
    """Measured, limit and margin in one phrase; "" where nothing was measured."""
    if got.measured is None:
        return "" if got.limit is None else f"limit {quantity(got.limit, measure)}"
    said = f"measured {quantity(got.measured, measure)}"
    if got.limit is not None:
        said += f", limit {quantity(got.limit, measure)}"
    if got.margin is not None:
        said += f", margin {margin(got.margin, measure)}"
    return said
