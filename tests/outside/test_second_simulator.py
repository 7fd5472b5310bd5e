"""The second simulator checked by itself: closed forms, and A against B."""

from __future__ import annotations

import random
import sys
from dataclasses import replace
from math import ceil, sqrt
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from gatesim.events import Command, Direction, Origin
from gatesim.plant import site as tables
from gatesim.scenario import model as steps

sys.path.insert(0, str(Path(__file__).parent))

import second_simulator
import second_simulator_on_change

Trace = list[tuple[float, str, str]]
SECOND = 1_000_000


def demo(**changes: Any) -> tables.Site:
    """A sliding gate, one edge closing and one opening on one transmitter."""
    cell = tables.Cell(capacity=2_400_000, open_voltage=3_600, end_voltage=3_000, knee=0.1, resistance=20,
                       low_voltage=3_000, critical_voltage=2_800, dead_voltage=2_500, self_discharge=0.01)
    transmitter = tables.Transmitter(
        name="leaf unit", identity=7, sampling=10_000, debounce=3, fault_debounce=5, checkin_at_rest=2_000_000,
        checkin_in_motion=150_000, checkin_jitter=0, event_repeats=3, event_spacing=20_000,
        learns_motion=tables.LearnsMotion.TOLD, feel_delay=60_000, monitoring=tables.Monitoring.BEFORE_EACH_MOVE,
        latency=4_000, latency_spread=0, loss=0.0, air_time=3_000, burst_current=15_000, burst_length=5_000,
        sample_charge=0.0, sleep_current=2, cell=cell, sampling_phase=3_000, checkin_phase=500_000,
    )  # fmt: skip
    front = tables.Edge(
        name="front edge", zone="closing gap", input="leaf unit", termination=8_200, band_low=4_000, band_high=14_000,
        open_above=60_000, wire_resistance=2, contact_resistance=50, length=1.5e6, actuating_travel=8_000,
        actuating_force=80_000, overtravel=40_000, full_force=500_000,
    )  # fmt: skip
    site = tables.Site(
        name="demo",
        gate=tables.Gate(tables.GateKind.SLIDING, 4_000_000.0, 450.0, 60_000.0),
        drive=tables.Drive(
            speed_opening=0.25, speed_closing=0.2, slow_speed=0.08, slow_zone=400_000.0, acceleration=0.4e-6,
            deceleration=0.3e-6, start_delay=80_000, stopping_delay=50_000, stopping_deceleration=1.5e-6,
            stall_force=900_000.0, force_limit=250_000.0, force_dwell=40_000, blind_after_start=700_000,
            blind_at_end=20_000.0, limit_lead=10_000.0, without_power=tables.WithoutPower.BRAKED,
        ),
        zones=(
            tables.Zone("closing gap", Direction.CLOSING, 0.0, 4_000_000.0),
            tables.Zone("opening gap", Direction.OPENING, 0.0, 4_000_000.0),
        ),
        edges=(front, replace(front, name="rear edge", zone="opening gap")),
        receiver=tables.ReceiverTable(("leaf unit",), watchdog_at_rest=7_000_000, watchdog_in_motion=500_000),
        controller=tables.ControllerTable(reversal_distance=600_000.0),
        transmitters=(transmitter,),
    )  # fmt: skip
    for part, fields in changes.items():
        new = replace(getattr(site, part), **fields) if part in ("gate", "drive", "controller", "receiver") else fields
        site = replace(site, **{part: new})
    return site


def story(ends: int, *told: Any) -> Any:
    return SimpleNamespace(ends=ends, steps=told)


def command(at: int, what: Command, **more: Any) -> steps.GiveCommand:
    return steps.GiveCommand(do="command", at=at, command=what, **more)


def obstruct(at: int, position: float, **more: Any) -> steps.Obstruct:
    zone = more.pop("zone", "closing gap")
    return steps.Obstruct(do="obstruct", at=at, obstruction=f"block {at}", zone=zone, position=position, **more)


def fault(at: int, kind: str, device: str, **more: Any) -> steps.Fault:
    return steps.Fault(do="fault", at=at, fault=kind, device=device, **more)


def go(site: tables.Site, scenario: Any) -> Trace:
    return second_simulator.simulate(site, scenario)


def when(trace: Trace, name: str, device: str | None = None, after: float = 0.0) -> float:
    return next(t for t, n, d in trace if n == name and t >= after and device in (None, d))


def names(trace: Trace) -> list[str]:
    return [n for _, n, _ in trace]


OPEN_CLOSE = (command(1 * SECOND, Command.OPEN), command(30 * SECOND, Command.CLOSE))


def cycle(*more: Any, ends: int = 60 * SECOND) -> Any:
    return story(ends, *OPEN_CLOSE, *more)


def test_travel_time_is_the_sum_of_its_stretches() -> None:
    trace = go(demo(), story(40 * SECOND, command(1 * SECOND, Command.OPEN)))
    ordered, d = when(trace, "order opening"), demo().drive
    up, down = d.speed_opening**2 / 2 / d.acceleration, (d.speed_opening**2 - d.slow_speed**2) / 2 / d.deceleration
    run = d.speed_opening / d.acceleration + (d.speed_opening - d.slow_speed) / d.deceleration
    run += (4e6 - d.slow_zone - up - down) / d.speed_opening + (d.slow_zone - d.limit_lead) / d.slow_speed
    assert when(trace, "limit open") == pytest.approx(ordered + d.start_delay + run, abs=0.01)
    rest = d.stopping_delay + d.slow_speed / d.stopping_deceleration
    assert when(trace, "stopped") == pytest.approx(when(trace, "limit open") + rest, abs=0.01)


def test_a_stop_takes_delay_and_ramp_and_its_distance() -> None:
    """The distance shows in how deep an obstruction just short of it is touched."""
    site, stop = demo(), 10 * SECOND
    d = site.drive
    trace = go(site, story(12 * SECOND, command(1 * SECOND, Command.OPEN), command(stop, Command.STOP)))
    assert when(trace, "order none") == stop
    assert when(trace, "stopped") == pytest.approx(stop + d.stopping_delay + d.speed_opening / d.stopping_deceleration)
    start = when(trace, "started opening")
    at_stop = d.speed_opening * (stop - start) - d.speed_opening**2 / 2 / d.acceleration
    distance = d.speed_opening * d.stopping_delay + d.speed_opening**2 / 2 / d.stopping_deceleration
    for short, touched in ((0.5, True), (-0.5, False)):
        block = obstruct(0, at_stop + distance - short, zone="opening gap")
        trace = go(site, story(12 * SECOND, command(1 * SECOND, Command.OPEN), command(stop, Command.STOP), block))
        assert ("touch" in names(trace)) is touched


def test_a_short_move_peaks_where_the_ramps_meet() -> None:
    site = demo(gate={"travel": 500_000.0}, drive={"slow_zone": 400_000.0})
    d = site.drive
    trace = go(site, story(20 * SECOND, command(1 * SECOND, Command.OPEN)))
    room = 100_000.0
    peak = sqrt((2 * room + d.slow_speed**2 / d.deceleration) / (1 / d.acceleration + 1 / d.deceleration))
    assert d.slow_speed < peak < d.speed_opening
    run = peak / d.acceleration + (peak - d.slow_speed) / d.deceleration + 390_000 / d.slow_speed
    assert when(trace, "limit open") == pytest.approx(when(trace, "started opening") + run, abs=0.01)


def test_the_press_is_taken_over_at_the_third_scan_that_sees_it() -> None:
    trace = go(demo(), cycle(obstruct(29 * SECOND, 2_000_000.0)))
    unit, touch, made = demo().transmitters[0], when(trace, "touch"), when(trace, "actuated")
    assert made == pytest.approx(touch + 8_000 / demo().drive.speed_closing, abs=0.01)
    first = ceil((made - unit.sampling_phase) / unit.sampling) * unit.sampling + unit.sampling_phase
    level = when(trace, "level pressed", "front edge")
    assert level == first + (unit.debounce - 1) * unit.sampling
    assert when(trace, "order none", after=touch) == level + unit.latency
    rest = when(trace, "stopped", after=touch)
    assert when(trace, "order opening", after=touch) == pytest.approx(rest + demo().controller.reversal_dwell)
    begun = when(trace, "started opening", after=touch)
    assert begun == pytest.approx(rest + demo().controller.reversal_dwell + demo().drive.start_delay)
    assert "force trip" not in names(trace)


@pytest.mark.parametrize("phase", [0, 3_000, 77_777, 149_999])
def test_a_cut_link_is_found_within_watchdog_and_latency_of_the_last_checkin(phase: int) -> None:
    site, cut = demo(), 32 * SECOND + phase
    unit, receiver = site.transmitters[0], site.receiver
    assert receiver is not None
    trace = go(site, cycle(fault(cut, "link lost", "leaf unit")))
    lost = when(trace, "not fresh", "leaf unit", after=cut)
    told = when(trace, "order closing") + unit.latency
    last = told + (ceil((cut - told) / unit.checkin_in_motion) - 1) * unit.checkin_in_motion
    assert lost == last + unit.latency + receiver.watchdog_in_motion
    assert lost - cut <= receiver.watchdog_in_motion + unit.latency
    assert when(trace, "order none", after=cut) == lost
    assert when(trace, "lockout both directions") == lost
    assert "order opening" not in [n for t, n, _ in trace if t > cut]


def test_the_worst_latency_is_reached_by_a_cut_just_after_a_checkin() -> None:
    site = demo()
    unit = site.transmitters[0]
    told = when(go(site, cycle()), "order closing") + unit.latency
    cut = int(told + 10 * unit.checkin_in_motion) + 1
    trace = go(site, cycle(fault(cut, "link lost", "leaf unit")))
    assert when(trace, "not fresh") - cut == 500_000 + unit.latency - 1


def test_a_checkin_at_the_expiry_itself_counts() -> None:
    """Period equal to the watchdog: every check-in arrives exactly then, and none is too late."""
    felt = tables.LearnsMotion.FELT
    unit = replace(demo().transmitters[0], checkin_in_motion=500_000, learns_motion=felt)
    assert "not fresh" not in names(go(demo(transmitters=(unit,)), cycle()))
    unit = replace(unit, checkin_in_motion=500_001)
    assert "not fresh" in names(go(demo(transmitters=(unit,)), cycle()))


def test_a_dead_sampler_is_found_one_checkin_later_than_a_lost_link() -> None:
    """The next check-in still carries scans made since the last one, and re-arms the watchdog once."""
    unit, dead = demo().transmitters[0], 33 * SECOND
    trace = go(demo(), cycle(fault(dead, "sampler dead", "leaf unit")))
    told = when(trace, "order closing") + unit.latency
    following = told + ceil((dead - told) / unit.checkin_in_motion) * unit.checkin_in_motion
    assert when(trace, "not fresh") == following + unit.latency + 500_000
    assert "lockout both directions" in names(trace)


def test_a_dead_cell_too_and_a_frozen_converter_not_at_all() -> None:
    assert "lockout both directions" in names(go(demo(), cycle(fault(33 * SECOND, "cell dead", "leaf unit"))))
    frozen = fault(33 * SECOND, "converter frozen", "leaf unit")
    trace = go(demo(), cycle(frozen, obstruct(34 * SECOND, 1_500_000.0)))
    assert "not fresh" not in names(trace)
    assert "level pressed" not in names(trace)
    # Only the force sensing meets the contact then: dwell after the limit's deflection.
    d, e = demo().drive, demo().edges[0]
    deep = e.actuating_travel + e.overtravel * (d.force_limit - e.actuating_force) / (e.full_force - e.actuating_force)
    ripe = when(trace, "touch") + deep / d.speed_closing + d.force_dwell
    assert when(trace, "force trip") == pytest.approx(ripe, abs=0.01)


def test_an_open_loop_reverses_and_locks_out_its_own_direction() -> None:
    trace = go(demo(), cycle(fault(33 * SECOND, "loop open", "front edge")))
    level = when(trace, "level open", "front edge")
    assert level == 33 * SECOND + 3_000 + 4 * 10_000
    assert when(trace, "lockout closing") == when(trace, "order none", after=level) == level + 4_000
    assert when(trace, "order opening", after=level) > level
    assert "alarm" not in names(trace)


def test_a_short_is_a_demand_first_and_a_fault_when_it_outlasts_a_press() -> None:
    trace = go(demo(), cycle(fault(33 * SECOND, "loop short", "front edge")))
    rest = [t for t, n, _ in trace if n == "stopped" and t > 33 * SECOND][-1]
    assert when(trace, "lockout closing") == pytest.approx(rest + demo().controller.press_limit)


def test_a_reversal_ends_after_its_distance() -> None:
    site = demo()
    d = site.drive
    trace = go(site, cycle(obstruct(29 * SECOND, 2_000_000.0)))
    begun = when(trace, "started opening", after=30 * SECOND)
    up = d.speed_opening**2 / 2 / d.acceleration
    run = d.speed_opening / d.acceleration + (600_000 - up) / d.speed_opening
    assert when(trace, "order none", after=begun) == pytest.approx(begun + run, abs=0.01)


def test_a_second_demand_locks_out_and_alarms_and_a_wired_reset_clears_it() -> None:
    block = obstruct(29 * SECOND, 2_000_000.0)
    again = command(50 * SECOND, Command.CLOSE)
    told = (block, again, steps.Clear(do="clear", at=70 * SECOND, obstruction=block.obstruction))
    radio = command(72 * SECOND, Command.RESET, origin=Origin.RADIO)
    refused = command(73 * SECOND, Command.CLOSE)
    reset = command(75 * SECOND, Command.RESET)
    trace = go(demo(), cycle(*told, radio, refused, reset, command(80 * SECOND, Command.CLOSE), ends=110 * SECOND))
    second = when(trace, "lockout entrapment")
    assert when(trace, "alarm") == when(trace, "order none", after=50 * SECOND) == second
    assert "order opening" not in [n for t, n, _ in trace if t > 50 * SECOND]
    # The squeeze relaxes once nothing holds it.
    assert when(trace, "started opening", after=second) == when(trace, "stopped", after=second)
    assert when(trace, "refused", "reset") == 72 * SECOND
    assert when(trace, "refused", "close") == 73 * SECOND
    assert when(trace, "lockout none") == 75 * SECOND + 300_000
    assert "limit closed" in [n for t, n, _ in trace if t > 80 * SECOND]


def test_a_start_needs_the_answer_of_its_devices() -> None:
    dead = fault(27 * SECOND, "sampler dead", "leaf unit")
    trace = go(demo(), cycle(dead, ends=40 * SECOND))
    assert when(trace, "refused", "close") == 30 * SECOND + 1_000_000
    healthy = go(demo(), cycle(ends=31 * SECOND))
    assert when(healthy, "order closing") == 30 * SECOND + 4_000 + 9_000 + 4_000  # request, next scan, answer


def test_hold_to_run_works_in_a_lockout_and_stops_on_release() -> None:
    hold = command(45 * SECOND, Command.HOLD_CLOSE, held=2 * SECOND)
    trace = go(demo(), cycle(fault(33 * SECOND, "loop open", "front edge"), hold))
    assert when(trace, "order closing", after=45 * SECOND) == 45 * SECOND
    assert when(trace, "order none", after=45 * SECOND) == 47 * SECOND
    rest = 50_000 + demo().drive.slow_speed / demo().drive.stopping_deceleration
    assert when(trace, "stopped", after=45 * SECOND) == pytest.approx(47 * SECOND + rest)


def test_a_welded_contactor_is_read_back_and_opens_the_main() -> None:
    welded, stop = fault(5 * SECOND, "contactor welded", "opening"), command(8 * SECOND, Command.STOP)
    trace = go(demo(), story(20 * SECOND, command(1 * SECOND, Command.OPEN), welded, stop))
    assert when(trace, "main open") == when(trace, "lockout drive") == 8 * SECOND + 100_000
    d = demo().drive
    rest = d.stopping_delay + d.speed_opening / d.stopping_deceleration
    assert when(trace, "stopped") == pytest.approx(8 * SECOND + 100_000 + rest)


@pytest.mark.parametrize(("rest", "late"), [(800_000, False), (800_001, True)])
def test_the_stop_limit_itself_is_in_time(rest: int, late: bool) -> None:
    """A stop of exactly the limit: delay and ramp."""
    site = demo(drive={"stopping_delay": rest - 500_000, "stopping_deceleration": 0.25 / 500_000})
    trace = go(site, story(20 * SECOND, command(1 * SECOND, Command.OPEN), command(8 * SECOND, Command.STOP)))
    assert when(trace, "stopped") == 8 * SECOND + rest
    assert when(trace, "main open") == 8 * SECOND + 800_000
    assert ("lockout drive" in names(trace)) is late


def test_a_leaf_pushed_by_hand_is_motion_without_an_order() -> None:
    push = steps.PushLeaf(do="push leaf", at=3 * SECOND, direction=Direction.OPENING, distance=500_000.0)
    trace = go(demo(), story(20 * SECOND, push))
    assert when(trace, "lockout drive") == 3 * SECOND
    assert when(trace, "stopped") == pytest.approx(3 * SECOND + 500_000 / 0.3 + 0.3 / 0.5e-6)


def test_a_command_the_other_way_stops_and_is_tested_at_standstill() -> None:
    other = command(8 * SECOND, Command.CLOSE)
    trace = go(demo(), story(20 * SECOND, command(1 * SECOND, Command.OPEN), other))
    rest = when(trace, "stopped", after=8 * SECOND)
    assert rest + 8_000 < when(trace, "order closing") <= rest + 18_000


def test_travel_time_locks_out() -> None:
    trace = go(demo(controller={"travel_time_closing": 9_000_000}), cycle())
    late = when(trace, "order closing") + 9_000_000
    assert when(trace, "lockout drive") == when(trace, "order none", after=30 * SECOND) == late


def test_automatic_closing_pauses_tests_and_warns() -> None:
    site = demo(controller={"automatic_closing": 6_000_000})
    trace = go(site, story(60 * SECOND, command(1 * SECOND, Command.OPEN)))
    rest = when(trace, "stopped")
    closing = when(trace, "order closing")
    assert rest + 6_000_000 + 5_000_000 + 8_000 <= closing <= rest + 6_000_000 + 5_000_000 + 18_000
    held_up = steps.PressEdge(do="press", at=int(rest) + 3 * SECOND, edge="front edge")
    later = go(site, story(60 * SECOND, command(1 * SECOND, Command.OPEN), held_up))
    assert when(later, "order closing") - closing == pytest.approx(3_500_000, abs=60_000)


@pytest.mark.parametrize("kind", list(tables.WithoutPower))
def test_power_loss_stops_the_leaf_as_the_site_says(kind: tables.WithoutPower) -> None:
    site = demo(drive={"without_power": kind})
    lost = steps.LosePower(do="lose power", at=33 * SECOND, lasts=5 * SECOND)
    trace = go(site, cycle(lost, command(40 * SECOND, Command.OPEN)))
    v, d = site.drive.speed_closing, site.drive
    coast = kind is tables.WithoutPower.COASTING
    rest = v / d.coasting_deceleration if coast else d.stopping_delay + v / d.stopping_deceleration
    assert when(trace, "stopped", after=33 * SECOND) == pytest.approx(33 * SECOND + rest)
    # Position unknown: the way home is slow.
    assert when(trace, "limit open", after=40 * SECOND) - 40 * SECOND > 500_000 / site.drive.slow_speed


def test_the_bring_up_stops_a_leaf_that_nothing_else_stops() -> None:
    """Without an edge there, and the force sensing blind: stall force, then the stiffness takes up what moves."""
    site = demo(drive={"blind_after_start": 60 * SECOND})
    trace = go(site, cycle(obstruct(29 * SECOND, 2_000_000.0, touches=steps.Touches.LEAF), ends=44 * SECOND))
    d, m = site.drive, site.gate.mass
    rise = sqrt(1e9 * d.end_stiffness * m) * d.speed_closing
    slow = 2 * rise / d.end_stiffness / d.speed_closing
    deep = d.stall_force / d.end_stiffness
    touch = when(trace, "touch")
    assert when(trace, "stopped", after=touch) == pytest.approx(touch + deep / d.speed_closing + slow, abs=0.01)


def random_story(seed: int) -> tuple[tables.Site, Any]:
    draw = random.Random(seed)
    base = demo().transmitters[0]
    unit = replace(
        base, sampling=draw.choice([7_000, 10_000, 25_000]), debounce=draw.randint(1, 4),
        fault_debounce=draw.randint(2, 8), sampling_phase=draw.randint(0, 9_000),
        checkin_phase=draw.randint(0, 400_000), latency=draw.randint(1_000, 9_000),
        checkin_in_motion=draw.choice([100_000, 150_000, 230_000]),
        learns_motion=draw.choice(list(tables.LearnsMotion)), monitoring=draw.choice(list(tables.Monitoring)),
    )  # fmt: skip
    wired = tables.WiredInput("post input", 5_000, 2, 4, tables.Monitoring.BEFORE_EACH_MOVE)
    edges = demo().edges
    if draw.random() < 0.5:
        edges = (edges[0], replace(edges[1], input="post input"))
    site = demo(
        transmitters=(unit,), wired_inputs=(wired,), edges=edges,
        controller={"automatic_closing": draw.choice([None, 4_000_000])},
        drive={"without_power": draw.choice(list(tables.WithoutPower)), "stopping_delay": draw.randint(20_000, 90_000)},
    )  # fmt: skip
    told: list[Any] = [command(SECOND, Command.OPEN), command(draw.randint(18, 30) * SECOND, Command.CLOSE)]

    def instant() -> int:
        return draw.randint(2 * SECOND, 70 * SECOND)

    for _ in range(draw.randint(1, 6)):
        pick = draw.randrange(7)
        if pick == 0:
            zone = draw.choice(["closing gap", "opening gap"])
            k = draw.choice([None, 20.0, 200.0])
            stays = draw.choice([None, 5_000_000])
            told.append(obstruct(instant(), draw.uniform(0, 4e6), zone=zone, stiffness=k, stays=stays,
                                 touches=draw.choice(list(steps.Touches))))
        elif pick == 1:
            kind = draw.choice(["loop open", "loop short"])
            told.append(fault(instant(), kind, draw.choice(["front edge", "rear edge"]),
                              lasts=draw.choice([None, 35_000, 4_000_000]), gap=30_000, flickers=draw.randint(1, 6)))
        elif pick == 2:
            kind = draw.choice(["link lost", "cell dead", "sampler dead", "converter frozen"])
            told.append(fault(instant(), kind, "leaf unit", lasts=draw.choice([None, 300_000, 4_000_000])))
        elif pick == 3:
            told.append(command(instant(), draw.choice([c for c in Command if c is not Command.PAIR]),
                                held=draw.choice([300_000, 2_500_000]), origin=draw.choice(list(Origin))))
        elif pick == 4:
            told.append(steps.PressEdge(do="press", at=instant(), edge=draw.choice(["front edge", "rear edge"])))
        elif pick == 5:
            told.append(steps.PushLeaf(do="push leaf", at=instant(), direction=draw.choice(list(Direction)),
                                       distance=draw.uniform(1_000, 900_000)))
        else:
            told.append(steps.LosePower(do="lose power", at=instant(), lasts=draw.randint(1_000, 5_000_000)))
    return site, story(75 * SECOND, *told)


@pytest.mark.parametrize("seed", range(50))
def test_a_and_b_tell_the_same_story(seed: int) -> None:
    site, scenario = random_story(seed)
    told = second_simulator.simulate(site, scenario)
    assert told == second_simulator_on_change.simulate(site, scenario)
    assert "started opening" in names(told)
