"""The cell.  Closed forms: own derivation (32 uA, 2.4 Ah: 8.56 years, 8.21 with 1 % a year of self-discharge)."""

from __future__ import annotations

import sys
from dataclasses import replace
from math import log
from pathlib import Path

import pytest

from gatesim.events import FitCell
from gatesim.plant import wires
from gatesim.plant.cell import HOUR, YEAR, CellPart, Drain, loaded, mean_current, terminals
from gatesim.plant.cell_figures import figures_of
from gatesim.plant.site import Cell
from gatesim.plant.wires import CellTerminals
from gatesim.plant.world import Plant

sys.path.insert(0, str(Path(__file__).parent))

from edge_bench import CELL, MS, NODE, Lever, Pull, Run, S

FIGURES = figures_of(NODE, -20.0)


def part_of(cell: Cell, drain: float) -> CellPart:
    return CellPart("tx", cell, drain, figures_of(replace(NODE, cell=cell), -20.0))


def run_of(part: CellPart, until: float) -> Run:
    run = Run(Plant([Lever(Drain("tx"), part.drain), part]))
    return run.at(until)


def life(share: float, drain: float = 32.0) -> float:
    """Instant (years) at which nothing is left."""
    run = run_of(part_of(replace(CELL, self_discharge=share), drain), 0)
    while run.world.deadline() < float("inf"):
        run.at(run.world.deadline())
    return run.world.now / YEAR


def test_mean_current_of_sleep_and_bursts() -> None:
    # 2 uA asleep, 25 mA for 12 ms every 10 s.
    assert mean_current(NODE, 10 * S) == pytest.approx(32.0)
    # One scan of 1 nAh each 10 ms is 360 uA more.
    assert mean_current(replace(NODE, sample_charge=1e-3), 10 * S) == pytest.approx(392.0)


def test_life_without_self_discharge() -> None:
    assert life(0.0) == pytest.approx(2.4e6 / 32 / 8760)
    assert life(0.0) == pytest.approx(8.56, abs=0.005)


def test_life_with_one_per_cent_a_year_within_a_thousandth_of_the_closed_form() -> None:
    closed = log(1 + 0.01 * 2.4e6 / 32 / 8760) / 0.01
    assert closed == pytest.approx(8.21, abs=0.005)
    assert life(0.01) == pytest.approx(closed, rel=1e-3)
    assert life(0.01) < closed  # never on the optimistic side


def test_at_one_check_in_a_second_the_cell_lasts_about_a_year() -> None:
    assert life(0.0, mean_current(NODE, S)) == pytest.approx(0.9, abs=0.02)


def test_sag_under_load() -> None:
    # 3.0 V, 25 ohm, 25 mA: 2375 mV; 2380.14 with 100 uF beside it after 12 ms: the plain product is the cautious side.
    assert loaded(wires.Cell(3000, 25), 25_000) == 2375
    assert loaded(wires.Cell(3000, 25), 25_000) < 2380.14


@pytest.mark.parametrize(("share", "mv"), [(1.0, 3600), (0.2, 3600), (0.1, 2800), (0.0, 2000)])
def test_open_voltage_is_flat_then_a_line(share: float, mv: float) -> None:
    assert terminals(FIGURES, share).open_voltage == pytest.approx(mv)


def test_no_knee_means_flat_to_the_end() -> None:
    assert terminals(figures_of(replace(NODE, cell=replace(CELL, knee=0.0)), -20.0), 0.0).open_voltage == 3600


def test_charge_is_told_in_steps_at_solved_instants() -> None:
    run = run_of(part_of(replace(CELL, charge=0.1), 2400.0), 0)
    assert run.level(CellTerminals("tx")).open_voltage == pytest.approx(2800)
    assert run.world.deadline() == pytest.approx(HOUR)  # 2.4 mAh at 2.4 mA
    run.at(run.world.deadline())
    assert run.level(CellTerminals("tx")).open_voltage == pytest.approx(2000 + 1600 * 0.099 / 0.2)


def test_charge_between_two_steps_is_told_as_it_is() -> None:
    run = run_of(part_of(replace(CELL, charge=0.1004), 2400.0), 0)
    assert run.level(CellTerminals("tx")).open_voltage == pytest.approx(2000 + 1600 * 0.1004 / 0.2)
    assert run.world.deadline() == pytest.approx(0.4 * HOUR)


def test_another_load_within_a_step_moves_its_end() -> None:
    part = part_of(replace(CELL, charge=0.1), 2400.0)
    run = run_of(part, 0).at(HOUR / 2, Pull(str(Drain("tx")), 4800.0))
    assert run.world.deadline() == pytest.approx(0.75 * HOUR)


def test_load_that_comes_and_goes_at_once_changes_nothing() -> None:
    part = part_of(replace(CELL, charge=0.1), 2400.0)
    run = run_of(part, 0)
    for k in range(1, 50):
        run.at(k * MS, Pull(str(Drain("tx")), 2400.0 + k % 2)).at(k * MS, Pull(str(Drain("tx")), 2400.0))
    assert run.world.deadline() == pytest.approx(HOUR)


def test_empty_cell_stays_empty_until_a_fresh_one_is_fitted() -> None:
    run = run_of(part_of(replace(CELL, charge=0.001), 2400.0), 2 * HOUR)
    assert run.level(CellTerminals("tx")).open_voltage == 2000
    assert run.world.deadline() == float("inf")
    run.at(3 * HOUR, FitCell("tx"))
    assert run.level(CellTerminals("tx")).open_voltage == 3600
    assert run.world.deadline() == pytest.approx(4 * HOUR)
