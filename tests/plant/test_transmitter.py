"""A transmitter: check-ins, events, requests, battery."""

from __future__ import annotations

import sys
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from gatesim.events import BatteryFlagged, CellFell, Direction, FitCell, FrameSent, Level, LevelChanged
from gatesim.plant import wires
from gatesim.plant.radio_tables import Clock, ClockPoint, JitterReading
from gatesim.plant.site import LearnsMotion
from gatesim.plant.transmitter import TransmitterPart
from gatesim.plant.wires import CellTerminals, CheckInClock, Downlink, Piece, ScanClock, StripPressed

sys.path.insert(0, str(Path(__file__).parent))

from edge_bench import MS, Cut, Run, S, Set, begins, ends, pull, site

GO = (Direction.CLOSING, False)
HALT = (None, False)


def sent(run: Run, why: str = "") -> list[float]:
    """Instants (ms) of frames."""
    return [at / MS for at, event in run.all(FrameSent) if why in ("", event.why)]


def order(value: Any) -> Any:
    return pull(wires.Order(), value)


def press(down: bool = True) -> Any:
    return pull(StripPressed("edge"), down)


def test_first_level_goes_out_with_the_first_scan_and_its_repeats() -> None:
    run = Run(site()).at(0).at(200 * MS)
    assert run.all(LevelChanged) == [(3 * MS, LevelChanged("edge", Level.REST))]
    assert [(at, event.why) for at, event in run.all(FrameSent)] == [
        (3 * MS, "change"), (18 * MS, "repeat"), (33 * MS, "repeat")]


def test_check_ins_stand_on_an_absolute_grid() -> None:
    run = Run(site(node={"checkin_phase": 700 * MS})).at(0).at(41 * S)
    assert sent(run, "check-in") == [700, 10_700, 20_700, 30_700, 40_700]


def test_jitter_is_late_by_at_most_itself_and_does_not_accumulate() -> None:
    run = Run(site(node={"checkin_phase": 700 * MS, "checkin_jitter": 40 * MS})).at(0).at(20_000 * S)
    late = [at - 700 - 10_000 * k for k, at in enumerate(sent(run, "check-in"))]
    assert len(late) == 2000
    assert all(0 <= one <= 40 for one in late)
    assert max(late) > 39
    assert min(late) < 1


def test_jitter_that_adds_up_moves_the_grid_along() -> None:
    adding = {"checkin_phase": 700 * MS, "checkin_jitter": 40 * MS, "jitter_reading": JitterReading.ADDS_UP}
    run = Run(site(node=adding)).at(0).at(20_000 * S)
    gaps = [b - a for a, b in pairwise(sent(run, "check-in"))]
    assert all(10_000 <= gap <= 10_040 for gap in gaps)
    # 2000 delays of 20 ms on the mean; their standard deviation is 11.5 ms x the root of 2000.
    assert abs(sent(run, "check-in")[-1] - 700 - len(gaps) * 10_020) < 4 * 11.55 * len(gaps) ** 0.5


def test_no_draw_without_jitter() -> None:
    run = Run(site()).at(0).at(100 * S)
    assert sum(run.world.counters) == 1  # the session


def test_frame_numbers_count_frames_and_scans() -> None:
    run = Run(site(node={"checkin_phase": 700 * MS})).at(0).at(10_700 * MS)
    assert [(event.counter, event.samples) for _, event in run.all(FrameSent)] == [
        (0, 1), (1, 2), (2, 4), (3, 70), (4, 1070)]


def test_counter_wraps() -> None:
    run = Run(site(node={"checkin_at_rest": S})).at(0).at(300 * S)
    counters = [event.counter for _, event in run.all(FrameSent)]
    assert counters == [n % 256 for n in range(len(counters))]
    assert len(counters) > 256


def test_press_is_sent_at_once_and_repeated_without_moving_the_grid() -> None:
    run = Run(site(node={"checkin_phase": 700 * MS})).at(0).at(9000 * MS, press()).at(21 * S)
    assert sent(run, "change")[1:] == [9013]  # scans at 9003 and 9013
    assert sent(run, "repeat")[2:] == [9028, 9043]
    assert sent(run, "check-in") == [700, 10_700, 20_700]


def test_new_change_restarts_the_repeats() -> None:
    run = Run(site()).at(0).at(5000 * MS, press()).at(5015 * MS, press(False)).at(5500 * MS)
    assert sent(run)[3:] == [5013, 5028, 5033, 5048, 5063]
    assert [event.levels for _, event in run.all(FrameSent)][3:] == [(Level.PRESSED,)] * 2 + [(Level.REST,)] * 3


def test_frame_due_for_two_reasons_is_sent_once() -> None:
    run = Run(site(node={"checkin_phase": 5013 * MS})).at(0).at(5000 * MS, press()).at(5500 * MS)
    assert sent(run)[3:] == [5013, 5028, 5043]
    assert [event.why for _, event in run.all(FrameSent)][3] == "change"


def test_told_motion_checks_in_at_once_and_moves_the_grid() -> None:
    run = Run(site()).at(0).at(4 * S, order(GO)).at(7500 * MS, order(HALT)).at(30 * S)
    assert sent(run, "check-in") == [4020, 5020, 6020, 7020, 17_520, 27_520]


def test_told_nothing_while_the_downlink_is_dead() -> None:
    run = Run(site()).at(0).at(S, begins(Cut(), Downlink("tx"))).at(4 * S, order(GO)).at(15 * S)
    assert sent(run, "check-in") == [10_000]


def test_felt_motion() -> None:
    table = site(node={"learns_motion": LearnsMotion.FELT, "feel_delay": 150 * MS})
    still, away = Piece(6 * S, 0.0, 0.0, 0.0), Piece(4 * S, 0.0, 0.2, 0.0)
    run = Run(table).at(0).at(4 * S, pull(wires.Motion(), (away, still)), order(GO)).at(20 * S)
    assert sent(run, "check-in") == [4150, 5150, 16_150]  # that of 6150 gives way to the new grid


def test_stretched_clock_counts_from_the_next_period() -> None:
    run = Run(site()).at(0).at(5 * S, begins(Set(1.5), CheckInClock("tx"))).at(41 * S, ends()).at(61 * S)
    assert sent(run, "check-in") == [10_000, 25_000, 40_000, 55_000]


def test_a_clock_that_errs_stretches_check_ins_and_scans() -> None:
    errs = {"clock": Clock(0.01, (ClockPoint(-20, 0.02), ClockPoint(20, 0.0)))}
    run = Run(site(node=errs, coldest=-10.0)).at(0).at(45 * S)
    # 1 % and, at -10 degC, 1.5 % of 10 s and of 10 ms; the grid begins where it begins.
    assert sent(run, "check-in") == pytest.approx([10_250, 20_500, 30_750, 41_000])
    scans = [event.samples for at, event in run.all(FrameSent) if event.why == "check-in"]
    assert scans == [int((at - 3) // 10.25) + 1 for at in sent(run, "check-in")]
    fast = Run(site(node={"clock": Clock(-0.01)})).at(0).at(35 * S)
    assert sent(fast, "check-in") == pytest.approx([9_900, 19_800, 29_700])


def test_a_low_cell_slows_the_clock_from_the_next_period_on() -> None:
    slow = {"clock": Clock(low_battery=0.05), "checkin_phase": 700 * MS}
    run = Run(site(node=slow)).at(0).at(15 * S, sagged(2500)).at(40 * S)
    assert sent(run, "check-in") == pytest.approx([700, 10_700, 20_700, 31_200])


def test_a_clock_without_error_is_no_clock() -> None:
    plain, none = Run(site()).at(0).at(60 * S), Run(site(node={"clock": Clock()})).at(0).at(60 * S)
    assert [(at, event) for at, event in plain.all(FrameSent)] == [(at, event) for at, event in none.all(FrameSent)]


def test_request_is_answered_at_the_first_scan_strictly_later() -> None:
    run = Run(site()).at(0).at(5 * S, pull(wires.Ask(), 1)).at(5100 * MS)
    assert sent(run, "answer") == [5023]  # heard at 5020
    run = Run(site()).at(0).at(5003 * MS, pull(wires.Ask(), 1)).at(5100 * MS)
    assert sent(run, "answer") == [5033]  # heard at 5023, which is a scan


def test_frame_between_request_and_scan_does_not_echo_it() -> None:
    run = Run(site(node={"checkin_phase": 5021 * MS})).at(0).at(5 * S, pull(wires.Ask(), 1)).at(5022 * MS)
    assert sent(run)[-1] == 5021
    assert run.state("tx", TransmitterPart).answer == 0
    assert run.at(5060 * MS).state("tx", TransmitterPart).answer == 1
    assert run.level(wires.ReportLine("edge")).answered == 1


def test_dead_scanner_checks_in_but_answers_nothing() -> None:
    run = Run(site(node={"checkin_at_rest": S})).at(0).at(2500 * MS, begins(Set(False), ScanClock("tx")))
    run.at(3 * S, pull(wires.Ask(), 1)).at(6 * S)
    assert sent(run, "answer") == []
    assert [event.samples for at, event in run.all(FrameSent) if at > 2500 * MS] == [250] * 4


def test_stopped_before_its_first_scan_it_says_nothing() -> None:
    run = Run(site()).at(0, begins(Set(False), ScanClock("tx"))).at(25 * S)
    assert sent(run) == []
    run.at(25_500 * MS, ends()).at(31 * S)
    assert sent(run) == [25_503, 25_518, 25_533, 30_000]


def sagged(mv: float) -> Any:
    """A fault that leaves this loaded voltage: 25 ohm at 25 mA take 625 mV."""
    return begins(Set(wires.Cell(mv + 625, 25)), CellTerminals("tx"))


def test_low_cell_is_measured_in_a_burst_and_flagged_at_the_next_scan() -> None:
    run = Run(site(node={"checkin_phase": 700 * MS})).at(0).at(5 * S, sagged(2500)).at(11 * S)
    assert run.all(CellFell) == [(5 * S, CellFell("tx", "low"))]
    assert run.all(BatteryFlagged) == [(10_703 * MS, BatteryFlagged("tx", "low"))]
    assert sent(run, "change")[1:] == [10_703]
    assert run.level(wires.ReportLine("edge")).low


def test_burst_at_a_scan_is_seen_by_the_scan_after() -> None:
    run = Run(site(node={"checkin_phase": 703 * MS})).at(0).at(5 * S, sagged(2300)).at(11 * S)
    flags = [(at, event.flag) for at, event in run.all(BatteryFlagged)]
    assert flags == [(10_713 * MS, "low"), (10_713 * MS, "critical")]
    assert [event.figure for _, event in run.all(CellFell)] == ["low", "critical"]


def test_below_the_dead_voltage_nothing_is_sent() -> None:
    run = Run(site()).at(0).at(5 * S, sagged(2099)).at(65 * S)
    assert sent(run) == [3, 18, 33]
    assert Run(site()).at(0).at(5 * S, sagged(2100)).at(65 * S).all(FrameSent)[-1][0] == 60 * S


def test_rest_voltage_does_not_hide_the_sag() -> None:
    # 3.0 V at rest, 25 ohm: 2375 mV in the burst, below 2400.
    run = Run(site(cell={"open_voltage": 3000})).at(0).at(S)
    assert {event.flag for _, event in run.all(BatteryFlagged)} == {"low", "critical"}


def test_flag_outlasts_recovery_and_goes_with_a_new_cell_and_a_press() -> None:
    run = Run(site()).at(0).at(5 * S, sagged(2300)).at(11 * S)
    run.at(12 * S, ends()).at(25 * S, press()).at(26 * S, press(False))
    assert run.at(40 * S).level(wires.ReportLine("edge")).critical
    run.at(41 * S, FitCell("tx")).at(41_500 * MS)
    assert run.level(wires.ReportLine("edge")).critical
    run.at(43 * S, press()).at(44 * S, press(False)).at(45 * S)
    report = run.level(wires.ReportLine("edge"))
    assert (report.low, report.critical, report.fresh) == (False, False, True)


def test_new_cell_starts_a_new_session_with_counters_from_zero() -> None:
    run = Run(site()).at(0).at(15 * S)
    before = run.state("tx", TransmitterPart).session
    run.at(15_001 * MS, FitCell("tx")).at(26 * S)
    assert run.state("tx", TransmitterPart).session != before
    after = [(at / MS, event.counter, event.samples) for at, event in run.all(FrameSent) if at > 15 * S]
    assert after == [(15_003, 0, 1), (15_018, 1, 2), (15_033, 2, 4), (20_000, 3, 500)]


def test_node_without_power_starts_anew_when_it_returns() -> None:
    gone = begins(Set(wires.Cell(0, 25)), CellTerminals("tx"))
    run = Run(site(node={"checkin_at_rest": S})).at(0).at(5500 * MS, gone)
    session = run.state("tx", TransmitterPart).session
    run.at(7 * S, press()).at(8 * S, ends()).at(9500 * MS)
    assert run.state("tx", TransmitterPart).session != session
    after = [(at / MS, event.counter, event.levels) for at, event in run.all(FrameSent) if at > 5500 * MS]
    assert [one[:2] for one in after] == [(8003, 0), (8018, 1), (8033, 2), (9000, 3)]
    assert {one[2] for one in after} == {(Level.PRESSED,)}


def test_check_in_due_as_standstill_is_learnt_is_dropped() -> None:
    run = Run(site()).at(0).at(4 * S, order(GO)).at(6 * S, order(HALT)).at(17 * S)
    assert sent(run, "check-in") == [4020, 5020, 16_020]


@pytest.mark.parametrize("seed", range(5))
def test_session_is_drawn_and_never_the_one_before(seed: int) -> None:
    run = Run(site(), seed).at(0)
    seen = [run.state("tx", TransmitterPart).session]
    for k in range(1, 20):
        run.at(k * S, FitCell("tx"))
        seen.append(run.state("tx", TransmitterPart).session)
    assert all(one != other for one, other in pairwise(seen))
    assert len(set(seen)) > 15


def test_fork_in_mid_flight_has_the_same_future() -> None:
    table = site(node={"checkin_jitter": 40 * MS, "latency_spread": 30 * MS, "loss": 0.2, "checkin_at_rest": S})
    run = Run(table).at(0).at(2 * S, order(GO)).at(4 * S, press()).at(4005 * MS)
    fork = run.fork()
    assert fork.world == run.world
    run.at(30 * S)
    assert run.all(LevelChanged)[-1][0] == 4013 * MS
    assert fork.world.now == 4005 * MS
    fork.at(30 * S)
    assert fork.world == run.world
    assert fork.trace == run.trace
