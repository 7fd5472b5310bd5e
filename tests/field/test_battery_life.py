"""Battery life against the closed form's worked numbers, and against a stepped integration of our own."""

from __future__ import annotations

from dataclasses import replace

import pytest
from field_site import a_cell, a_transmitter
from hypothesis import given
from hypothesis import strategies as st

from gatesim.field.battery_life import battery_of, drain_of, life_years, share_at

HOUR = 3_600_000_000


def test_the_worked_life() -> None:
    # Worked number of the closed form ln(1 + k C / I) / k, calculated: 2 uA and 25 mA x 12 ms every 10 s from 2.4 Ah:
    # 32 uA, 8.56 years, 8.21 years at 1 % a year.
    node = a_transmitter(sleep_current=2, sample_charge=0, burst_current=25_000, burst_length=12_000)
    made = battery_of(node, frames_an_hour=360)
    assert made.drain.total == pytest.approx(32)
    assert made.years_without_self_discharge == pytest.approx(8.56, abs=0.005)
    assert made.years == pytest.approx(8.21, abs=0.005)


def test_one_check_in_a_second_empties_the_cell_in_nine_tenths_of_a_year() -> None:
    # Calculated: 2 uA + 25 mA x 12 ms / 1 s = 302 uA; 2.4 Ah / 302 uA = 7 947 h = 0.907 years.
    node = a_transmitter(sleep_current=2, sample_charge=0, burst_current=25_000, burst_length=12_000)
    made = battery_of(node, frames_an_hour=3_600)
    assert made.drain.total == pytest.approx(302)
    assert made.years_without_self_discharge == pytest.approx(0.9, abs=0.01)


def test_scans_are_a_part_of_the_load() -> None:
    # 2e-5 uAh each 10 ms: 100 scans a second x 3600 s/h = 7.2 uA.
    assert drain_of(a_transmitter(), 0).scans == pytest.approx(7.2)


@given(st.floats(1e5, 5e6), st.floats(1, 500), st.floats(0.001, 0.05), st.floats(0.05, 0.9))
def test_life_is_what_stepping_gives(capacity: float, current: float, leak: float, end: float) -> None:
    years, charge, steps = 0.0, capacity, 2_000
    step = capacity * (1 - end) / steps
    for _ in range(steps):
        years += step / (current * 8_760 + leak * (charge - step / 2))
        charge -= step
    assert life_years(capacity, current, leak, 1.0, end) == pytest.approx(years, rel=1e-4)


def test_no_load_and_no_leak_lasts_for_ever() -> None:
    assert life_years(1e6, 0, 0) == float("inf")
    assert life_years(1e6, 0, 0.01, 1.0, 0.0) == float("inf")


def test_low_and_critical_come_from_the_sag_at_the_coldest() -> None:
    # 25 mA through 20 ohm takes 500 mV: 2900 mV are left where the cell shows 3400 mV; on the line from 3600 (at 10 %
    # of the charge) to 2000 mV that is 8.75 %; 2600 mV likewise 6.875 %.
    cell = a_cell()
    assert share_at(cell, 25_000, 2_900) == pytest.approx(0.0875)
    assert share_at(cell, 25_000, 2_600) == pytest.approx(0.06875)
    node = a_transmitter(sleep_current=24, sample_charge=0)
    node = replace(node, cell=replace(cell, self_discharge=0.0))
    # 1.875 % of 2.4 Ah at 24 uA: 1 875 h = 78.125 days.
    assert battery_of(node, 0).lead_days == pytest.approx(78.125)


@pytest.mark.parametrize(("change", "said"), [
    ({"low_voltage": 3_200}, "fresh cell"),
    ({"low_voltage": 1_200, "critical_voltage": 1_100}, "never falls to the low"),
    ({"critical_voltage": 1_400}, "never falls to the critical"),
    ({"critical_voltage": 2_950}, "no later than low"),
    ({"dead_voltage": 2_700}, "silent before"),
])
def test_voltages_that_can_not_work_are_said(change: dict[str, float], said: str) -> None:
    node = a_transmitter(cell=replace(a_cell(), **change))
    assert said in battery_of(node, 100).trouble
    assert not battery_of(a_transmitter(), 100).trouble
