"""Battery life against the closed form's worked numbers, and against a stepped integration of our own."""

from __future__ import annotations

from dataclasses import replace

import pytest
from field_site import a_cell, a_site, a_transmitter
from hypothesis import given
from hypothesis import strategies as st

from gatesim.field.air_time import Frames
from gatesim.field.battery_life import Battery, Drain, battery_of, drain_of, life_of, life_years, share_at
from gatesim.plant.cell_figures import figures_of
from gatesim.plant.site import CellTemperature, DischargePoint, Transmitter

HOUR = 3_600_000_000


def at_rest(node: Transmitter, frames: float) -> Battery:
    """The cell of a transmitter that sends so many check-ins an hour and nothing else."""
    return battery_of(a_site(), node, Frames(frames, 0, 0, 0), 0)


def load(node: Transmitter, frames: Frames = Frames(0, 0, 0, 0), presses: float = 0) -> Drain:  # noqa: B008
    return drain_of(a_site(transmitters=(node, a_transmitter("rear node", identity=102))), node, frames, presses)


def test_the_worked_life() -> None:
    # Worked number of the closed form ln(1 + k C / I) / k, calculated: 2 uA and 25 mA x 12 ms every 10 s from 2.4 Ah:
    # 32 uA, 8.56 years, 8.21 years at 1 % a year.
    node = a_transmitter(sleep_current=2, sample_charge=0, burst_current=25_000, burst_length=12_000)
    made = at_rest(node, 360)
    assert made.drain.total == pytest.approx(32)
    assert made.years_without_self_discharge == pytest.approx(8.56, abs=0.005)
    assert made.years == pytest.approx(8.21, abs=0.005)


def test_one_check_in_a_second_empties_the_cell_in_nine_tenths_of_a_year() -> None:
    # Calculated: 2 uA + 25 mA x 12 ms / 1 s = 302 uA; 2.4 Ah / 302 uA = 7 947 h = 0.907 years.
    node = a_transmitter(sleep_current=2, sample_charge=0, burst_current=25_000, burst_length=12_000)
    made = at_rest(node, 3_600)
    assert made.drain.total == pytest.approx(302)
    assert made.years_without_self_discharge == pytest.approx(0.9, abs=0.01)


def test_scans_are_a_part_of_the_load() -> None:
    # 2e-5 uAh each 10 ms: 100 scans a second x 3600 s/h = 7.2 uA.
    assert load(a_transmitter()).scans == pytest.approx(7.2)


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
    cell = figures_of(a_transmitter(), -20)
    assert share_at(cell, 25_000, 2_900) == pytest.approx(0.0875)
    assert share_at(cell, 25_000, 2_600) == pytest.approx(0.06875)
    node = a_transmitter(sleep_current=24, sample_charge=0)
    node = replace(node, cell=replace(a_cell(), self_discharge=0.0))
    # 1.875 % of 2.4 Ah at 24 uA: 1 875 h = 78.125 days.
    assert at_rest(node, 0).lead_days == pytest.approx(78.125)


@pytest.mark.parametrize(("change", "said"), [
    ({"low_voltage": 3_200}, "fresh cell"),
    ({"low_voltage": 1_200, "critical_voltage": 1_100}, "never falls to the low"),
    ({"critical_voltage": 1_400}, "never falls to the critical"),
    ({"critical_voltage": 2_950}, "no later than low"),
    ({"dead_voltage": 2_700}, "silent before"),
])
def test_voltages_that_can_not_work_are_said(change: dict[str, float], said: str) -> None:
    node = a_transmitter(cell=replace(a_cell(), **change))
    assert said in at_rest(node, 100).trouble
    assert not at_rest(a_transmitter(), 100).trouble


def test_the_budget_by_item_adds_up() -> None:
    # 25 mA x 4 ms is 1/36 uAh a frame.  36 at rest, 18 in motion, 6 at starts: 60/36; 6 answers: 6/36; 12 presses a day
    # are 1 change an hour: 1/36, and 2 repeats of it: 2/36 uA.
    made = load(a_transmitter("front node"), Frames(36, 18, 6, 6), 12)
    assert made.checkins == pytest.approx(60 / 36)
    assert made.answers == pytest.approx(6 / 36)
    assert made.changes == pytest.approx(1 / 36)
    assert made.repeats == pytest.approx(2 / 36)
    assert made.total == pytest.approx(8 + 7.2 + 69 / 36)
    assert sum(item.current for item in made.items) == pytest.approx(made.total)
    assert sum(item.share for item in made.items) == pytest.approx(1)


def test_the_loop_dividers_draw_while_they_are_energised() -> None:
    # 3.3 V over 8.2 + 8.2 kohm (and 0.3 ohm of wire): 201.2 uA; for 50 us of each 10 ms: 1.006 uA; a node with no edge
    # has no divider.
    assert load(a_transmitter("front node", divider_time=10_000)).dividers == pytest.approx(201.216, abs=1e-3)
    assert load(a_transmitter("front node", divider_time=50)).dividers == pytest.approx(1.00608, abs=1e-5)
    assert load(a_transmitter("bare node", divider_time=50)).dividers == 0


def test_warm_and_cold_each_have_their_life() -> None:
    points = (CellTemperature(-40, 60, 0.5), CellTemperature(-20, 40, 0.7), CellTemperature(20, 10, 1.0))
    cell = replace(a_cell(), resistance=None, temperatures=points, self_discharge=0.0)
    made = at_rest(a_transmitter(sleep_current=24, sample_charge=0, cell=cell), 0)
    assert made.coldest.years == pytest.approx(0.7 * 2.4e6 / 24 / 8_760)
    assert made.room is not None
    assert made.room.years == pytest.approx(2.4e6 / 24 / 8_760)
    # 25 mA x 40 ohm leaves 2.9 V where 3.9 V are needed: a fresh cell has 3.6.
    assert made.coldest.share_at_low == 1.0
    assert made.room.share_at_low == pytest.approx(0.1 * (3_150 - 2_000) / 1_600)
    assert "fresh cell" in made.trouble


def test_the_end_of_life_as_points() -> None:
    # Flat 3.6 V to 40 %, 3.4 V at 10 %, then the cliff to 2 V.  25 mA x 20 ohm: low at 3.4 V (10 %), critical at 3.1 V,
    # dead at 2.6 V, both on the cliff.
    points = (DischargePoint(0.4, 3_600), DischargePoint(0.1, 3_400), DischargePoint(0.0, 2_000))
    cell = replace(a_cell(), knee=None, end_voltage=None, discharge=points, self_discharge=0.0)
    life = at_rest(a_transmitter(sleep_current=24, sample_charge=0, cell=cell), 0).coldest
    assert (life.share_at_low, life.share_at_critical, life.share_at_dead) == pytest.approx(
        (0.1, 0.1 * 1_100 / 1_400, 0.1 * 600 / 1_400))
    days = 2.4e6 / 24 / 24
    assert life.low_to_critical == pytest.approx(days * 0.1 * 300 / 1_400)
    assert life.critical_to_dead == pytest.approx(days * 0.1 * 500 / 1_400)
    assert life.low_to_dead == pytest.approx(days * 0.1 * 800 / 1_400)
    assert life.years_to_dead == pytest.approx(life.years * (1 - 0.1 * 600 / 1_400))


def test_a_capacitor_makes_the_sag_less_and_the_life_to_low_longer() -> None:
    without, with_it = (at_rest(a_transmitter(event_repeats=1, capacitor=uf), 0).coldest.share_at_low
                        for uf in (0.0, 1_000.0))
    assert with_it is not None
    assert without is not None
    assert with_it < without


@given(st.lists(st.tuples(st.floats(1, 30), st.floats(0, 10), st.floats(0, 0.1)), min_size=1, max_size=5),
       st.floats(-60, 60), st.floats(0, 60))
def test_warmth_never_shortens_a_life(steps: list[tuple[float, float, float]], cold: float, more: float) -> None:
    """With points as the reader takes them: resistance falls with warmth, what is usable grows."""
    points = [CellTemperature(-40, 60, 0.5)]
    for degrees, ohm, share in steps:
        last = points[-1]
        points.append(CellTemperature(last.temperature + degrees, last.resistance - ohm, last.usable + share))
    cell = replace(a_cell(), resistance=None, temperatures=tuple(points))
    node = a_transmitter(cell=cell)
    colder, warmer = (life_of(cell, figures_of(node, t), t, 24, node.burst_current) for t in (cold, cold + more))
    assert warmer.years >= colder.years * (1 - 1e-12)
    assert warmer.years_to_dead >= colder.years_to_dead * (1 - 1e-12)
    for one in ("share_at_low", "share_at_critical", "share_at_dead"):
        assert (getattr(warmer, one) or 0.0) <= (getattr(colder, one) or 0.0) + 1e-12
