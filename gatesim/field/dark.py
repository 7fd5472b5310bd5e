"""Charged by the sun: how many days without it a cell or battery lasts, and whether the worst month pays the bill."""

from __future__ import annotations

from dataclasses import dataclass

from gatesim.events import Direction
from gatesim.field.air_time import DAY, travel_time
from gatesim.field.battery_life import DAYS_A_YEAR, Life, life_of, life_years, trouble_of
from gatesim.plant.cell_figures import Figures, figures_of, operator_figures, supply_share
from gatesim.plant.site import Cell, OperatorBattery, Site, SolarPanel, Transmitter

MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
          "December")


@dataclass(frozen=True, slots=True)
class Dark:
    """Days without sun, from a full battery at the coldest."""

    used_a_day: float
    """Charge (uAh), self-discharge left out."""
    lost_a_day: float
    """Self-discharge of a full battery (uAh)."""
    given_a_day: float
    """By the panel, in the worst month (uAh)."""
    worst_month: str
    days_to_low: float | None
    """None: never reached before the charge is spent, or a full battery is already there."""
    days_to_critical: float | None
    days_to_dead: float
    """Or to the last of the charge."""
    trouble: str

    @property
    def balance(self) -> float:
        """What a day of the worst month leaves (uAh); negative: it runs down though the sun shines."""
        return self.given_a_day - self.used_a_day - self.lost_a_day


@dataclass(frozen=True, slots=True)
class SupplyPlan:
    """The operator's own battery."""

    moves_a_day: int
    moving_share: float
    """Of the day in which the leaf moves."""
    standing_current: float
    moving_current: float
    mean_current: float
    """uA."""
    life: Life
    """Without any charging, at the coldest."""
    carries_at_low: float | None
    """Share of the load that a full one carries before it dips."""
    carries_at_critical: float | None
    dark: Dark | None
    """None where no panel is stated."""
    troubles: tuple[str, ...]


def dark_of(cell: Cell, figures: Figures, panel: SolarPanel, load: float, burst: float) -> Dark:
    """Days without sun at a mean load and a burst or moving current (uA)."""
    if panel.worst_month is not None:
        given, month = panel.worst_month, "worst month, as stated"
    else:
        given = min(panel.by_month)
        month = MONTHS[panel.by_month.index(given)]
    life = life_of(cell, figures, 0.0, load, burst)

    def days(end: float | None) -> float | None:
        if end is None or end >= 1.0:
            return None
        return life_years(figures.capacity, load, cell.self_discharge, 1.0, end) * DAYS_A_YEAR

    made = Dark(load * 24, cell.self_discharge * figures.capacity / DAYS_A_YEAR, given, month, days(life.share_at_low),
                days(life.share_at_critical), days(life.share_at_dead or 0.0) or 0.0, "")
    if made.balance >= 0:
        return made
    short = (f"a day of the worst month gives {given / 1000:.1f} mAh and takes "
             f"{(made.used_a_day + made.lost_a_day) / 1000:.1f} mAh")
    return Dark(made.used_a_day, made.lost_a_day, given, month, made.days_to_low, made.days_to_critical,
                made.days_to_dead, short)


def transmitter_dark(site: Site, node: Transmitter, load: float) -> Dark | None:
    """Of a transmitter with a panel, at its mean load (uA)."""
    if node.panel is None:
        return None
    return dark_of(node.cell, figures_of(node, site.coldest), node.panel, load, node.burst_current)


def supply_plan(site: Site, moves_a_day: int) -> SupplyPlan | None:
    """Of the operator's battery; None where it lives on the mains."""
    battery = site.battery
    if battery is None:
        return None
    moving = moves_a_day * (travel_time(site, Direction.OPENING) + travel_time(site, Direction.CLOSING)) / 2 / DAY
    mean = battery.standing_current + (battery.moving_current - battery.standing_current) * moving
    figures = operator_figures(battery, site.coldest)
    life = life_of(battery.cell, figures, site.coldest, mean, battery.moving_current)
    dark = None if battery.panel is None else dark_of(
        battery.cell, figures, battery.panel, mean, battery.moving_current)
    said = [trouble_of(life, "the supply is gone before it can say that its battery is critical"),
            dark.trouble if dark is not None else ""]
    return SupplyPlan(moves_a_day, moving, battery.standing_current, battery.moving_current, mean, life,
                      _carries(site, battery, life.share_at_low), _carries(site, battery, life.share_at_critical), dark,
                      tuple(one for one in said if one))


def _carries(site: Site, battery: OperatorBattery, share: float | None) -> float | None:
    return None if share is None else supply_share(battery, site.coldest, share)
