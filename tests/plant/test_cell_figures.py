"""A cell where the site is: points, temperature, capacitor; the numbers by hand."""

from __future__ import annotations

import math
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gatesim.events import CellFell
from gatesim.plant import cell, supply
from gatesim.plant.cell_figures import (
    between,
    curve_of,
    divider_charge,
    falls_to,
    figures_of,
    fresh,
    operator_voltage,
    sag,
    settled,
    supply_share,
    with_dividers,
)
from gatesim.plant.loop_tables import Joining
from gatesim.plant.site import Cell, CellTemperature, DischargePoint, OperatorBattery

sys.path.insert(0, str(Path(__file__).parent))

from edge_bench import CELL, EDGE, NODE, Run, S, roles, site

POINTS = (CellTemperature(-40, 100, 0.4), CellTemperature(-20, 50, 0.6), CellTemperature(20, 10, 1.0))
CLIFF = (DischargePoint(0.5, 3_600), DischargePoint(0.1, 3_400), DischargePoint(0.0, 2_000))


def by_points(**other: Any) -> Cell:
    return replace(CELL, **{"resistance": None, "temperatures": POINTS, **other})


@pytest.mark.parametrize(("degrees", "ohm", "usable"), [
    (-40, 100, 0.4), (-30, 75, 0.5), (-20, 50, 0.6), (0, 30, 0.8), (20, 10, 1.0), (40, 10, 1.0)])
def test_straight_lines_over_temperature_and_level_in_the_warm(degrees: float, ohm: float, usable: float) -> None:
    made = figures_of(replace(NODE, cell=by_points()), degrees)
    assert made.resistance == pytest.approx(ohm)
    assert made.capacity == pytest.approx(usable * 2.4e6)


def test_without_points_a_cell_is_as_it_is_stated() -> None:
    made = figures_of(NODE, 20)
    assert (made.capacity, made.resistance, made.settled) == (2.4e6, 25, 1.0)


@pytest.mark.parametrize(("left", "mv"), [(1.0, 3600), (0.6, 3600), (0.3, 3500), (0.1, 3400), (0.05, 2700), (0, 2000)])
def test_the_end_of_life_as_points(left: float, mv: float) -> None:
    curve = curve_of(replace(CELL, knee=None, end_voltage=None, discharge=CLIFF))
    assert between(curve, left) == pytest.approx(mv)


def test_knee_and_the_same_as_points_are_one_curve() -> None:
    knee = curve_of(CELL)
    points = curve_of(replace(CELL, knee=None, end_voltage=None,
                              discharge=(DischargePoint(0.2, 3_600), DischargePoint(0.0, 2_000))))
    for k in range(1001):
        assert between(knee, k / 1000) == between(points, k / 1000)


@given(st.lists(st.floats(0, 5_000), min_size=2, max_size=8), st.floats(0, 1))
def test_what_falls_to_a_voltage_has_it_there(volts: list[float], share: float) -> None:
    volts = sorted(volts)
    curve = tuple((k / (len(volts) - 1), mv) for k, mv in enumerate(volts))
    found = falls_to(curve, between(curve, share))
    assert found is not None
    assert found >= share - 1e-9
    assert between(curve, found) == pytest.approx(between(curve, share), abs=1e-6)


def test_a_burst_settles_by_its_time_constant() -> None:
    # 25 ohm x 100 uF is 2.5 ms; 12 ms are 4.8 of it.
    assert settled(25, 100, 12_000) == pytest.approx(1 - math.exp(-4.8))
    assert settled(25, 0, 12_000) == 1.0
    assert settled(0, 100, 12_000) == 1.0


def test_bursts_in_a_row_add_what_has_not_come_back() -> None:
    # Charge and recovery stepped by hand over three bursts of 2 ms each 15 ms, 10 ms of time constant.
    missing = 0.0
    for _ in range(3):
        missing = 1 - (1 - missing) * math.exp(-0.2)
        last, missing = missing, missing * math.exp(-1.3)
    assert settled(100, 100, 2_000, 15_000, 3) == pytest.approx(last)
    assert settled(100, 100, 2_000, 15_000, 3) > settled(100, 100, 2_000)


@given(st.floats(0, 1e3), st.floats(0, 1e5), st.integers(1, 10**6), st.integers(0, 10**6), st.integers(1, 100))
def test_a_capacitor_never_makes_the_sag_more(ohm: float, uf: float, burst: int, spacing: int, bursts: int) -> None:
    assert 0 <= settled(ohm, uf, burst, spacing, bursts) <= 1


def test_a_capacitor_in_a_run_shows_in_the_loaded_voltage() -> None:
    # 3.0 V - 25 mA x 25 ohm is 2375 mV: critical (2378 mV); with 100 uF 2380.1 mV are left: low only.
    change = {"open_voltage": 3_000, "critical_voltage": 2_378}
    for microfarads, figures in ((0.0, ["low", "critical"]), (100.0, ["low"])):
        table = site(cell=change, node={"capacitor": microfarads, "event_repeats": 1})
        run = Run(table).at(0).at(S)
        assert [event.figure for _, event in run.all(CellFell)] == figures


def test_temperature_of_a_run() -> None:
    cold = site(cell={"resistance": None, "temperatures": POINTS})
    assert fresh(cold, cold.transmitters[0]).resistance == 50
    warm = replace(cold, temperature=20)
    assert fresh(warm, warm.transmitters[0]).resistance == 10
    assert sag(fresh(cold, cold.transmitters[0]), 25_000) == pytest.approx(1_250)
    part, *_ = cell.parts(cold, roles())
    assert part.figures.capacity == pytest.approx(0.6 * 2.4e6)  # type: ignore[attr-defined]


def test_dividers_are_among_the_load_of_a_run() -> None:
    # 3.3 V over 8.2 + 8.2 kohm + 3 ohm for 50 us of each 10 ms: 1.006 uA, beside 2 uA asleep and 30 uA of frames.
    table = site(node={"divider_time": 50})
    taken = divider_charge(table, table.transmitters[0])
    assert taken * 360_000 == pytest.approx(1.00592, abs=1e-5)
    part, *_ = cell.parts(table, roles())
    assert part.drain == pytest.approx(32 + 1.00592, abs=1e-5)  # type: ignore[attr-defined]
    assert with_dividers(site(), NODE) is NODE


def test_a_loop_that_edges_share_has_one_divider() -> None:
    # Two terminations of 8.2 kohm side by side, each behind 3 ohm of lead: 4.1015 kohm, on a pull-up of 8.2 kohm.
    alone = site(node={"divider_time": 50})
    other = replace(EDGE, name="other", joined_to=EDGE.name, joining=Joining.PARALLEL)
    both = replace(alone, edges=(EDGE, other))
    node = alone.transmitters[0]
    assert divider_charge(both, node) == pytest.approx(3_300_000 / (8_200 + 4_101.5) * 50 / 3.6e9)
    apart = replace(alone, edges=(EDGE, replace(EDGE, name="other")))
    assert divider_charge(apart, node) == 2 * divider_charge(alone, node) > divider_charge(both, node)


def test_an_operators_battery_that_runs_down_carries_less() -> None:
    battery = OperatorBattery(
        Cell(capacity=7e6, open_voltage=13_000, end_voltage=11_000, knee=1.0, resistance=0.1, low_voltage=11_500,
             critical_voltage=11_200, dead_voltage=10_800, self_discharge=0.0, charge=0.45),
        standing_current=30_000, moving_current=4_000_000)
    # 11.9 V without load, 0.4 V lost at 4 A and 0.1 ohm; full 12.6 V; 10.8 V is dead.
    assert operator_voltage(battery, -20) == pytest.approx(11_500)
    assert operator_voltage(battery, -20, 1.0) == pytest.approx(12_600)
    assert supply_share(battery, -20) == pytest.approx(0.7 / 1.8)
    assert supply_share(battery, -20, 1.0) == 1.0
    assert supply_share(battery, -20, 0.05) == 0.0
    mains = site()
    part, *_ = supply.parts(mains, roles())
    run_down, *_ = supply.parts(replace(mains, battery=battery), roles())
    assert run_down.capacity == pytest.approx(part.capacity * 0.7 / 1.8)  # type: ignore[attr-defined]
