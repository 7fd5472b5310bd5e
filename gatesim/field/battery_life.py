"""The charge budget of a transmitter's cell: life by item, and what is left from low on, as closed forms."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

from gatesim.field.air_time import Frames
from gatesim.plant.cell_figures import Figures, divider_charge, falls_to, figures_of
from gatesim.plant.site import Cell, Site, Transmitter

HOURS_A_YEAR = 8_760.0
HOUR = 3_600_000_000
DAYS_A_YEAR = 365.0

ROOM = 20.0
"""degC (ours): the warm end of the two lives that are shown."""


class Item(NamedTuple):
    """One item of the budget."""

    name: str
    current: float
    """Mean (uA)."""
    share: float
    """Of the sum."""


@dataclass(frozen=True, slots=True)
class Drain:
    """Mean currents of a transmitter (uA): its sum is the load of the cell without self-discharge."""

    sleep: float
    scans: float
    dividers: float
    """Of the loops, while a scan energises them."""
    checkins: float
    """At rest, in motion, and at once where motion is learnt."""
    answers: float
    """To the test before each move."""
    changes: float
    """A press and its release, each said once."""
    repeats: float
    """Of those frames."""

    @property
    def frames(self) -> float:
        return self.checkins + self.answers + self.changes + self.repeats

    @property
    def total(self) -> float:
        return self.sleep + self.scans + self.dividers + self.frames

    @property
    def items(self) -> tuple[Item, ...]:
        """The budget, item by item."""
        whole = self.total
        return tuple(
            Item(name, current, current / whole if whole > 0 else 0.0)
            for name, current in (
                ("sleep", self.sleep), ("scans", self.scans), ("loop dividers", self.dividers),
                ("check-ins", self.checkins), ("answers", self.answers), ("changes", self.changes),
                ("repeats", self.repeats)))


@dataclass(frozen=True, slots=True)
class Life:
    """What one cell lasts at one temperature."""

    temperature: float
    """degC."""
    years_without_self_discharge: float
    years: float
    """From a full cell to the last of its usable charge."""
    years_to_dead: float
    """From a full cell until it can no longer carry its load (the last of its charge, where it never fails before)."""
    share_at_low: float | None
    """Share of the usable charge at which the loaded voltage falls to the low figure; None: never before the cell is
    spent; 1.0: a fresh cell is already at or below it."""
    share_at_critical: float | None
    share_at_dead: float | None
    low_to_critical: float | None
    """Days; None where one of them is never announced."""
    critical_to_dead: float | None
    """Days; to the end of the charge where the dead figure is never reached."""
    low_to_dead: float | None


@dataclass(frozen=True, slots=True)
class Battery:
    """Life of one cell."""

    drain: Drain
    coldest: Life
    room: Life | None
    """At 20 degC; None where the site states the cell for the coldest only."""
    trouble: str
    """What is wrong with the figures, in words; "" for nothing."""

    @property
    def years(self) -> float:
        """At the coldest."""
        return self.coldest.years

    @property
    def years_without_self_discharge(self) -> float:
        """At the coldest."""
        return self.coldest.years_without_self_discharge

    @property
    def lead_days(self) -> float | None:
        """From low to critical at the coldest."""
        return self.coldest.low_to_critical


def drain_of(site: Site, node: Transmitter, frames: Frames, presses_a_day: float) -> Drain:
    """Mean currents with these frames an hour and so many presses a day."""
    scans = HOUR / node.sampling
    per_frame = node.burst_current * node.burst_length / HOUR
    changes = 2 * presses_a_day / 24
    return Drain(
        sleep=node.sleep_current,
        scans=node.sample_charge * scans,
        dividers=divider_charge(site, node) * scans,
        checkins=per_frame * (frames.at_rest + frames.in_motion + frames.at_starts),
        answers=per_frame * frames.answers,
        changes=per_frame * changes,
        repeats=per_frame * changes * (node.event_repeats - 1),
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


def share_at(figures: Figures, current: float, voltage: float) -> float | None:
    """Share of the usable charge at which the voltage under a load (uA) falls to `voltage` (mV).

    None where it stays above until the cell is spent; 1.0 where a fresh cell is below it.
    """
    needed = voltage + current * figures.resistance * figures.settled / 1000
    if needed > figures.curve[-1][1]:
        return 1.0
    return None if needed <= figures.curve[0][1] else falls_to(figures.curve, needed)


def life_of(cell: Cell, figures: Figures, temperature: float, load: float, burst: float) -> Life:
    """Life and leads of a cell at a mean load and a burst (uA)."""
    low, critical, dead = (share_at(figures, burst, volts)
                           for volts in (cell.low_voltage, cell.critical_voltage, cell.dead_voltage))

    def days(start: float | None, end: float | None) -> float | None:
        if start is None or end is None or start >= 1.0:
            return None
        return life_years(figures.capacity, load, cell.self_discharge, start, min(start, end)) * DAYS_A_YEAR

    last = 0.0 if dead is None else dead
    leak = cell.self_discharge
    return Life(
        temperature, life_years(figures.capacity, load, 0.0), life_years(figures.capacity, load, leak),
        life_years(figures.capacity, load, leak, 1.0, last), low, critical, dead, days(low, critical),
        days(critical, last), days(low, last))


def battery_of(site: Site, node: Transmitter, frames: Frames, presses_a_day: float) -> Battery:
    """Life and leads of a transmitter's cell at so many frames an hour and presses a day."""
    drain = drain_of(site, node, frames, presses_a_day)

    def at(temperature: float) -> Life:
        return life_of(node.cell, figures_of(node, temperature), temperature, drain.total, node.burst_current)

    cold = at(site.coldest)
    return Battery(drain, cold, at(ROOM) if node.cell.temperatures and site.coldest < ROOM else None,
                   trouble_of(cold, "the transmitter falls silent before it can say that its cell is critical"))


def trouble_of(life: Life, silent: str) -> str:
    """What is wrong with the thresholds at a temperature; "" for nothing."""
    low, critical, dead = life.share_at_low, life.share_at_critical, life.share_at_dead
    if low == 1.0:
        return "at the coldest a fresh cell is already at the low figure"
    if low is None:
        return "the loaded voltage never falls to the low figure before the cell is spent"
    if critical is None:
        return "the loaded voltage never falls to the critical figure before the cell is spent"
    if critical >= low:
        return "critical comes no later than low"
    if dead is not None and dead >= critical:
        return silent
    return ""
