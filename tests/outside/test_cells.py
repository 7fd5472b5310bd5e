"""Cells and batteries against closed forms worked elsewhere, a chemistry table, and integration by scipy.

Closed forms: sag V0 - I R (1 - e^(-t/RC)) and life ln(1 + k C / I) / k, calculated with other tools (the sag also by a
circuit simulator: 2.380143 V).  Lithium cells: the status of each figure stands beside it.
"""

from __future__ import annotations

import math
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy
import pytest
from scipy.integrate import solve_ivp

from gatesim.field.battery_life import life_of, life_years
from gatesim.plant import cell as room
from gatesim.plant.cell import HOUR, YEAR, loaded
from gatesim.plant.cell_figures import figures_of, fresh, settled
from gatesim.plant.site import Cell, CellTemperature, DischargePoint
from gatesim.plant.wires import CellTerminals
from gatesim.plant.world import Plant
from gatesim.scenario.read import read_site

sys.path.insert(0, str(Path(__file__).parents[1] / "plant"))

from edge_bench import CELL, Lever, Run, roles, site

# 2 uA asleep, 25 mA for 12 ms every 10 s, 2.4 Ah: 32 uA.
NODE = {"event_repeats": 1, "burst_current": 25_000, "burst_length": 12_000}


def life_in_a_run(**cell: Any) -> tuple[float, list[tuple[float, float]]]:
    """Years until the cell part, driven from deadline to deadline, is empty; its terminals (year, mV) on the way."""
    table = site(node=NODE, cell=cell)
    part, *_ = room.parts(table, roles())
    run = Run(Plant([Lever(room.Drain("tx"), part.drain), part])).at(0)  # type: ignore[attr-defined]
    told = [(0.0, run.level(CellTerminals("tx")).open_voltage)]
    while run.world.deadline() < math.inf:
        run.at(run.world.deadline())
        told.append((run.world.now / YEAR, run.level(CellTerminals("tx")).open_voltage))
    return run.world.now / YEAR, told


def charge_left(years: float, capacity: float, current: float, leak: float) -> float:
    """Charge (uAh) after so many years by scipy: dq/dt = -I - k q."""
    made = solve_ivp(lambda _, q: [-current * 8_760 - leak * q[0]], (0, years), [capacity], rtol=1e-10, atol=1e-3)
    return float(made.y[0][-1])


def test_the_worked_sag_with_a_capacitor() -> None:
    table = site(cell={"open_voltage": 3_000, "resistance": 25}, node={**NODE, "capacitor": 100.0})
    assert loaded(fresh(table, table.transmitters[0]), 25_000) == pytest.approx(2_380.14, abs=5e-3)
    assert loaded(fresh(table, table.transmitters[0]), 25_000) == pytest.approx(2_380.143, abs=1e-3)


@pytest.mark.parametrize(("ohm", "microfarads", "ma", "ms"), [
    (25, 100, 25, 12), (60, 220, 18, 4), (5, 1_000, 40, 3), (120, 47, 12, 9)])
def test_the_sag_of_one_burst_is_what_scipy_integrates(ohm: float, microfarads: float, ma: float, ms: float) -> None:
    # The node's capacitor discharges by the burst and is fed through the cell: C dv/dt = (V0 - v) / R - I.
    rc = ohm * microfarads / 1_000
    made = solve_ivp(lambda _, v: [(3.0 - v[0]) / rc - ma / microfarads], (0, ms), [3.0], rtol=1e-10, atol=1e-12)
    sag = ma / 1_000 * ohm * settled(ohm, microfarads, ms * 1_000)
    assert 3.0 - sag == pytest.approx(float(made.y[0][-1]), abs=1e-7)


def test_the_sag_of_a_row_of_bursts_is_what_scipy_integrates() -> None:
    ohm, microfarads, ma, ms, spacing, bursts = 80.0, 150.0, 20.0, 4.0, 10.0, 5
    volts = 3.0
    for k in range(bursts):
        for current, span in ((ma, ms), (0.0, spacing - ms)):
            made = solve_ivp(lambda _, v, i=current: [(3.0 - v[0]) / (ohm * microfarads / 1_000) - i / microfarads],
                             (0, span), [volts], rtol=1e-10, atol=1e-12)
            volts = float(made.y[0][-1])
            if current and k == bursts - 1:
                last = volts
    share = settled(ohm, microfarads, ms * 1_000, spacing * 1_000, bursts)
    assert 3.0 - ma / 1_000 * ohm * share == pytest.approx(last, abs=1e-7)


def test_the_worked_life_in_a_run() -> None:
    assert life_in_a_run()[0] == pytest.approx(8.56, abs=5e-3)
    assert life_in_a_run(self_discharge=0.01)[0] == pytest.approx(8.21, abs=0.01)


@pytest.mark.parametrize("leak", [0.0, 0.01, 0.05, 0.3])
def test_a_run_of_the_cell_follows_scipy_within_a_thousandth_of_the_charge(leak: float) -> None:
    points = tuple(DischargePoint(k / 10, 2_000 + 160 * k) for k in range(9, -1, -1))
    end, told = life_in_a_run(self_discharge=leak, knee=None, end_voltage=None, discharge=points)
    # The voltage is a line over the charge here, so the terminals tell the charge, in steps of 0.1 %.
    for years, mv in told[:: len(told) // 20]:
        share = charge_left(years, 2.4e6, 32, leak) / 2.4e6
        assert (mv - 2_000) / 1_600 == pytest.approx(share, abs=1.5e-3)
    assert charge_left(end, 2.4e6, 32, leak) / 2.4e6 == pytest.approx(0, abs=1e-3)
    assert end == pytest.approx(life_years(2.4e6, 32, leak), rel=1e-3)


def test_a_cold_cell_in_a_run_lasts_as_long_as_what_is_usable() -> None:
    points = (CellTemperature(-40, 60, 0.5), CellTemperature(20, 20, 1.0))
    end, _ = life_in_a_run(resistance=None, temperatures=points)
    # The bench's site is at -20 degC: a third of the way, 2/3 usable.
    assert end == pytest.approx(2.4e6 * (0.5 + 0.5 / 3) / 32 / 8_760, rel=1e-6)
    by_numpy = numpy.interp(-20, [-40, 20], [0.5, 1.0])
    assert end * 32 * 8_760 / 2.4e6 == pytest.approx(float(by_numpy), rel=1e-9)


def test_the_closed_form_is_the_integral() -> None:
    for leak in (0.005, 0.01, 0.05):
        years = life_years(2.4e6, 32, leak)
        assert charge_left(years, 2.4e6, 32, leak) == pytest.approx(0, abs=1)
        assert life_years(2.4e6, 32, leak, 0.9, 0.2) == pytest.approx(
            math.log((32 * 8_760 + leak * 2.4e6 * 0.9) / (32 * 8_760 + leak * 2.4e6 * 0.2)) / leak)


@pytest.mark.parametrize("microfarads", [220.0, 470.0])
def test_low_critical_and_dead_come_in_a_run_when_the_plan_says(microfarads: float) -> None:
    """The cell told in steps of 0.1 % of the charge, against the closed form from share to share, at the coldest."""
    table = read_site(Path(__file__).parents[2] / "scenarios" / "sites" / "high-pasture.site.yaml")
    node = replace(table.transmitters[0], capacitor=microfarads)
    table = replace(table, transmitters=(node,))
    part, *_ = room.parts(table, roles())
    drain = part.drain  # type: ignore[attr-defined]
    life = life_of(node.cell, figures_of(node, table.coldest), table.coldest, drain, node.burst_current)
    run = Run(Plant([Lever(room.Drain(node.name), drain), part])).at(0)
    wanted = [node.cell.low_voltage, node.cell.critical_voltage, node.cell.dead_voltage]
    fell: list[float] = []
    while run.world.deadline() < math.inf:
        run.at(run.world.deadline())
        volts = loaded(run.level(CellTerminals(node.name)), node.burst_current)
        while len(fell) < len(wanted) and volts < wanted[len(fell)]:
            fell.append(run.world.now / (24 * HOUR))
    step = figures_of(node, table.coldest).capacity / 1_000 / drain / 24
    low, critical, dead = fell
    assert low == pytest.approx((life.years - life_years(1.62e6, drain, 0.01, life.share_at_low)) * 365, abs=1.2 * step)
    assert critical - low == pytest.approx(life.low_to_critical, abs=1.2 * step)
    assert dead - critical == pytest.approx(life.critical_to_dead, abs=1.2 * step)
    assert dead == pytest.approx(life.years_to_dead * 365, abs=1.2 * step)


LITHIUM = {
    # Nominal and open voltage read in an encyclopedia's chemistry table (3.5 and 3.65 V; 3.0 and 3.3 V); cut-off 2.0 V,
    # 2.4 to 2.7 Ah and about 1 % a year of the first from memory.
    "thionyl chloride": replace(CELL, capacity=2.4e6, open_voltage=3_650, self_discharge=0.01, end_voltage=2_000),
    # Open voltage 1.8 V, cut-off 0.9 V, about 3000 mAh, under 1 % a year: from memory; two in series.
    "iron disulfide, two in series": replace(CELL, capacity=3.0e6, open_voltage=3_600, self_discharge=0.01,
                                             end_voltage=1_800, dead_voltage=2_050),
}


@pytest.mark.parametrize("kind", LITHIUM)
def test_lithium_cells_run_down_between_their_figures(kind: str) -> None:
    """From the open voltage to the cut-off, in the time that their charge lasts at 32 uA."""
    cell: Cell = LITHIUM[kind]
    years = life_years(cell.capacity, 32, cell.self_discharge)
    assert years == pytest.approx({2.4e6: 8.21, 3.0e6: 10.17}[cell.capacity], abs=0.01)
    table = site(node=NODE, cell={"capacity": cell.capacity, "open_voltage": cell.open_voltage,
                                  "end_voltage": cell.end_voltage, "self_discharge": cell.self_discharge,
                                  "dead_voltage": cell.dead_voltage})
    part, *_ = room.parts(table, roles())
    run = Run(Plant([Lever(room.Drain("tx"), part.drain), part])).at(0)  # type: ignore[attr-defined]
    assert run.level(CellTerminals("tx")).open_voltage == cell.open_voltage
    run.at((years * 1.001) * 8_760 * HOUR)
    assert run.level(CellTerminals("tx")).open_voltage == cell.end_voltage


def test_half_of_the_capacity_in_the_deep_cold_is_half_of_the_life() -> None:
    """Thionyl chloride keeps over 50 % of its rated capacity at -55 degC: read in an encyclopedia's chemistry table."""
    points = (CellTemperature(-55, 100, 0.5), CellTemperature(20, 10, 1.0))
    table = site(node=NODE, cell={"resistance": None, "temperatures": points}, coldest=-55)
    part, *_ = room.parts(table, roles())
    assert part.figures.capacity == pytest.approx(1.2e6)  # type: ignore[attr-defined]
    warm = replace(table, temperature=20)
    part, *_ = room.parts(warm, roles())
    assert part.figures.capacity == pytest.approx(2.4e6)  # type: ignore[attr-defined]
