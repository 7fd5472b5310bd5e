"""Days without sun, by hand; a month that does not pay the bill; the operator's battery.  All figures are invented."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from field_site import a_cell, a_site, a_transmitter

from gatesim.events import Direction
from gatesim.field.air_time import DAY, travel_time
from gatesim.field.dark import supply_plan, transmitter_dark
from gatesim.field.plan import as_json, plan
from gatesim.plant.site import Cell, OperatorBattery, Site, SolarPanel, Use
from gatesim.report.plan_text import plan_text

NODE = a_transmitter("front node")


def battery(**other: Any) -> OperatorBattery:
    """12 V, 7 Ah: 13 V full, 11 V empty in a line; 0.1 ohm; low, critical and dead at 11.5, 11.2 and 10.8 V."""
    cell = Cell(capacity=7e6, open_voltage=13_000, end_voltage=11_000, knee=1.0, resistance=0.1, low_voltage=11_500,
                critical_voltage=11_200, dead_voltage=10_800, self_discharge=0.0)
    made = OperatorBattery(cell, standing_current=30_000, moving_current=4_000_000)
    return replace(made, **other)


def supplied(**other: Any) -> Site:
    return a_site(battery=battery(**other), use=Use(6, 20, 4))


def test_days_without_sun_of_a_transmitter() -> None:
    # 2.4 Ah at 100 uA are 2.4 mAh a day: 1000 days; low at 8.75 %, critical at 6.875 %, dead at 3.75 % of the charge.
    cell = replace(a_cell(), self_discharge=0.0)
    made = transmitter_dark(a_site(), replace(NODE, cell=cell, panel=SolarPanel(worst_month=3_000)), 100.0)
    assert made is not None
    assert made.used_a_day == pytest.approx(2_400)
    assert made.days_to_low == pytest.approx(912.5)
    assert made.days_to_critical == pytest.approx(931.25)
    assert made.days_to_dead == pytest.approx(962.5)
    assert made.balance == pytest.approx(600)
    assert not made.trouble


def test_no_panel_no_days() -> None:
    assert transmitter_dark(a_site(), NODE, 100.0) is None


def test_a_worst_month_that_gives_less_than_is_taken_is_a_gap() -> None:
    months = tuple(1_000.0 * k for k in (2, 4, 8, 9, 9, 9, 9, 9, 8, 5, 3, 1))
    node = replace(NODE, panel=SolarPanel(by_month=months))
    made = transmitter_dark(a_site(), node, 100.0)
    assert made is not None
    assert made.worst_month == "December"
    assert made.given_a_day == 1_000
    # 1 % a year of 2.4 Ah are 65.75 uAh a day.
    assert made.balance == pytest.approx(1_000 - 2_400 - 2.4e6 * 0.01 / 365)
    assert "worst month gives 1.0 mAh and takes 2.5 mAh" in made.trouble
    dim = replace(NODE, panel=SolarPanel(worst_month=500))
    said = plan(a_site(transmitters=(dim, a_transmitter("rear node", identity=102))))
    assert [gap for gap in said.gaps if gap.startswith("transmitter front node: battery: a day of the worst month")]
    bright = replace(NODE, panel=SolarPanel(worst_month=5_000))
    assert not plan(a_site(transmitters=(bright, a_transmitter("rear node", identity=102)))).gaps


def test_the_operators_battery() -> None:
    site = supplied(panel=SolarPanel(worst_month=2e6))
    made = supply_plan(site, 20)
    assert made is not None
    moving = 20 * (travel_time(site, Direction.OPENING) + travel_time(site, Direction.CLOSING)) / 2 / DAY
    mean = 30_000 + 3_970_000 * moving
    assert made.moving_share == pytest.approx(moving)
    assert made.mean_current == pytest.approx(mean)
    # Under 4 A at 0.1 ohm 0.4 V are lost: low where 11.9 V stand without load (45 %), critical 11.6 V (30 %), dead
    # 11.2 V (10 %).
    assert made.life.share_at_low == pytest.approx(0.45)
    assert made.life.share_at_critical == pytest.approx(0.3)
    assert made.life.share_at_dead == pytest.approx(0.1)
    assert made.dark is not None
    assert made.dark.days_to_low == pytest.approx(7e6 * 0.55 / mean / 24)
    assert made.dark.days_to_dead == pytest.approx(7e6 * 0.9 / mean / 24)
    # Above 10.8 V a full one has 13 - 0.4 - 10.8 = 1.8 V left, at low 0.7 V.
    assert made.carries_at_low == pytest.approx(0.7 / 1.8)
    assert not made.troubles


def test_mains_has_no_battery_to_plan() -> None:
    assert supply_plan(a_site(), 20) is None


def test_the_plan_prints_it_and_counts_what_falls_short() -> None:
    said = plan_text(plan(supplied(panel=SolarPanel(worst_month=2e6))))
    assert "Operator's battery" in said
    assert "39 % at low" in said
    assert "days without sun" in said
    poor = plan(supplied(panel=SolarPanel(worst_month=1e5)))
    assert any(gap.startswith("operator's battery: a day of the worst month") for gap in poor.gaps)
    assert as_json(poor)["supply"]["dark"]["balance"] < 0
    assert "no panel stated" in plan_text(plan(supplied()))


def test_the_use_of_the_site_is_what_is_summed_over() -> None:
    assert plan(supplied()).radios[0].moves == (6, 20, 4)
    assert plan(a_site()).radios[0].moves == (10, 60, 4)
