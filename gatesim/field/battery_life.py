"""The charge budget of a transmitter's cell: life, and the lead from low to critical, as closed forms."""

from __future__ import annotations

import math
from dataclasses import dataclass

from gatesim.plant.site import Cell, Transmitter

HOURS_A_YEAR = 8_760.0
HOUR = 3_600_000_000
DAYS_A_YEAR = 365.0


@dataclass(frozen=True, slots=True)
class Drain:
    """Mean currents of a transmitter (uA): its sum is the load of the cell without self-discharge."""

    sleep: float
    scans: float
    frames: float

    @property
    def total(self) -> float:
        return self.sleep + self.scans + self.frames


@dataclass(frozen=True, slots=True)
class Battery:
    """Life of one cell."""

    drain: Drain
    years_without_self_discharge: float
    years: float
    """From a full cell to the last of its usable charge."""
    share_at_low: float | None
    """Share of the charge at which the loaded voltage, at the coldest, falls to the low figure; None: never before
    the cell is spent; 1.0 and more: a fresh cell is already below it."""
    share_at_critical: float | None
    lead_days: float | None
    """From low to critical; None where one of them is never announced."""
    trouble: str
    """What is wrong with the figures, in words; "" for nothing."""


def drain_of(node: Transmitter, frames_an_hour: float) -> Drain:
    """Mean currents with this many frames an hour; events (presses) are rare and left out."""
    return Drain(
        sleep=node.sleep_current,
        scans=node.sample_charge * HOUR / node.sampling,
        frames=node.burst_current * node.burst_length * frames_an_hour / HOUR,
    )


def life_years(capacity: float, current: float, self_discharge: float, start: float = 1.0, end: float = 0.0) -> float:
    """Years in which a cell (uAh) runs from share `start` to share `end` at a load (uA).

    ln((I + k C start) / (I + k C end)) / k with k the self-discharge a year, of what is left; from full to empty that
    is ln(1 + k C / I) / k.  Without self-discharge C (start - end) / I.
    """
    rate = current * HOURS_A_YEAR
    if self_discharge <= 0:
        return capacity * (start - end) / rate if rate > 0 else math.inf
    lost = self_discharge * capacity
    if rate + lost * end <= 0:
        return math.inf
    return math.log1p(lost * (start - end) / (rate + lost * end)) / self_discharge


def share_at(cell: Cell, burst_current: float, voltage: float) -> float | None:
    """Share of the charge at which the voltage under a burst (uA) falls to `voltage` (mV), at the coldest temperature.

    None where it stays above until the cell is spent; 1.0 where a fresh cell is at or below it.
    """
    needed = voltage + burst_current * cell.resistance / 1000
    if needed > cell.open_voltage:
        return 1.0
    if needed <= cell.end_voltage:
        return None
    return cell.knee * (needed - cell.end_voltage) / (cell.open_voltage - cell.end_voltage)


def battery_of(node: Transmitter, frames_an_hour: float) -> Battery:
    """Life and lead of a transmitter's cell at this many frames an hour."""
    cell, drain = node.cell, drain_of(node, frames_an_hour)
    low = share_at(cell, node.burst_current, cell.low_voltage)
    critical = share_at(cell, node.burst_current, cell.critical_voltage)
    dead = share_at(cell, node.burst_current, cell.dead_voltage)
    lead = None
    if low is not None and critical is not None and low < 1.0:
        lead = life_years(cell.capacity, drain.total, cell.self_discharge, low, critical) * DAYS_A_YEAR
    return Battery(
        drain, life_years(cell.capacity, drain.total, 0.0), life_years(cell.capacity, drain.total, cell.self_discharge),
        low, critical, lead, _trouble(low, critical, dead))


def _trouble(low: float | None, critical: float | None, dead: float | None) -> str:
    if low == 1.0:
        return "at the coldest a fresh cell is already at the low figure"
    if low is None:
        return "the loaded voltage never falls to the low figure before the cell is spent"
    if critical is None:
        return "the loaded voltage never falls to the critical figure before the cell is spent"
    if critical >= low:
        return "critical comes no later than low"
    if dead is not None and dead >= critical:
        return "the transmitter falls silent before it can say that its cell is critical"
    return ""
