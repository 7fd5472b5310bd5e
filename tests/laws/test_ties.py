"""What arrives exactly at a limit counts as arrived: held on both sides of the limit (decision record 0001)."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from gatesim import events as e
from gatesim.events import Command, Level, Lockout, Origin, Stamped
from gatesim.plant.build import build
from gatesim.plant.site import Site
from gatesim.plant.world import World
from gatesim.run import Course
from gatesim.scenario.agenda import Due

sys.path.insert(0, str(Path(__file__).parent))

from stories import MS, S, references, shipped, taker

MILL = shipped("mill-lane")


def exact(site: Site, **node: Any) -> Site:
    """The site with nothing left to chance on its radio paths."""
    plain = {"checkin_jitter": 0, "latency_spread": 0, "loss": 0.0} | node
    return replace(site, transmitters=tuple([replace(each, **plain) for each in site.transmitters]))


def run(site: Site, ends: int, *given: tuple[int, Any]) -> list[Stamped]:
    seen: list[Stamped] = []
    agenda = tuple([Due(at, stimulus) for at, stimulus in sorted(given, key=lambda pair: pair[0])])
    plant = build(site, references())
    for _ in Course(plant, World(plant, 1), agenda, ends, None, taker(seen)).play():
        pass
    return seen


def click(command: Command, at: int, held: int = 200 * MS) -> tuple[tuple[int, Any], tuple[int, Any]]:
    return (at, e.PressControl(command, Origin.WIRED)), (at + held, e.ReleaseControl(command, Origin.WIRED))


def instants(seen: list[Stamped], kind: type, **fields: Any) -> list[float]:
    return [at for at, event in seen
            if type(event) is kind and all(getattr(event, name) == value for name, value in fields.items())]


@pytest.mark.parametrize(("short", "lost"), [(0, False), (1, True)])
def test_a_check_in_exactly_at_the_expiry_has_arrived_at_rest(short: int, lost: bool) -> None:
    site = exact(MILL, checkin_at_rest=2 * S)
    assert site.receiver is not None
    site = replace(site, receiver=replace(site.receiver, watchdog_at_rest=2 * S - short))
    stale = instants(run(site, 9 * S), e.ReportChanged, heard=True, fresh=False)
    assert bool(stale) is lost
    assert all(at == int(at) for at in stale)


@pytest.mark.parametrize("late", [0, 1])
def test_a_check_in_exactly_at_the_expiry_has_arrived_in_motion(late: int) -> None:
    site = exact(MILL, checkin_in_motion=250 * MS)
    assert site.receiver is not None
    site = replace(site, receiver=replace(site.receiver, watchdog_in_motion=250 * MS - late))
    seen = run(site, 4 * S, *click(Command.OPEN, S))
    assert instants(seen, e.LeafStarted)
    assert bool(instants(seen, e.ReportChanged, heard=True, fresh=False)) is bool(late)
    assert bool(instants(seen, e.LeafStopped)) is bool(late)


@pytest.mark.parametrize(("spare", "locked"), [(0, False), (-1, True)])
def test_a_standstill_exactly_at_the_stop_limit_is_in_time(spare: int, locked: bool) -> None:
    # 50 ms of delay, then 0.25 m/s at 1 m/s2: 300 ms after the order's end, to the last bit.
    drive = replace(MILL.drive, speed_opening=0.25, stopping_deceleration=1e-6, stopping_delay=50 * MS)
    controller = replace(MILL.controller, stop_limit=300 * MS + spare)
    seen = run(replace(exact(MILL), drive=drive, controller=controller), 6 * S, *click(Command.OPEN, S),
               *click(Command.STOP, 4 * S))
    assert 4_300_000.0 in instants(seen, e.LeafStopped)
    assert bool(instants(seen, e.OrdersChanged, lockout=Lockout.DRIVE)) is locked


@pytest.mark.parametrize(("edge", "phase"), [("front edge", 3 * MS), ("rear edge", 7 * MS)])
@pytest.mark.parametrize(("after", "scans"), [(-1, 1), (0, 1), (1, 2)])
def test_a_change_exactly_at_a_scan_is_seen_by_that_scan(edge: str, phase: int, after: int, scans: int) -> None:
    scan = 2 * S + phase  # every 10 ms from its phase on; the second scan takes the press over
    let_go = scan + 500 * MS
    seen = run(exact(MILL), 3 * S, (scan + after, e.PressStrip(edge)), (let_go + after, e.ReleaseStrip(edge)))
    assert instants(seen, e.EdgeActuated) == [scan + after]
    assert instants(seen, e.LevelChanged, edge=edge, level=Level.PRESSED) == [scan + scans * 10 * MS]
    assert instants(seen, e.LevelChanged, edge=edge, level=Level.REST)[-1] == let_go + scans * 10 * MS


def test_an_answer_exactly_at_the_end_of_the_test_time_counts() -> None:
    asked = 1_234_567
    passed = instants(run(exact(MILL), 3 * S, *click(Command.OPEN, asked)), e.StartTested, passed=True)
    assert len(passed) == 1
    took = int(passed[0]) - asked
    for spare, moves in ((0, True), (-1, False)):
        site = replace(exact(MILL), controller=replace(MILL.controller, test_time=took + spare))
        seen = run(site, 3 * S, *click(Command.OPEN, asked))
        assert bool(instants(seen, e.LeafStarted)) is moves
        assert bool(instants(seen, e.CommandRefused)) is not moves


@pytest.mark.parametrize(("over", "refused"), [(0, False), (1, True)])
def test_a_reset_let_go_exactly_at_the_end_of_its_window_counts(over: int, refused: bool) -> None:
    seen = run(exact(MILL), 6 * S, *click(Command.RESET, S, MILL.controller.reset_window + over))
    assert bool(instants(seen, e.CommandRefused, reason="held too long")) is refused


@pytest.mark.parametrize(("over", "latched"), [(0, False), (1, True)])
def test_a_press_let_go_exactly_at_its_limit_is_no_fault(over: int, latched: bool) -> None:
    # A release that is reported exactly at the limit has arrived in time; 1 us after it, it has not.
    site = exact(MILL)
    at = 2 * S + 3 * MS
    free = run(site, 9 * S, (at, e.PressStrip("front edge")), (at + 5 * S, e.ReleaseStrip("front edge")))
    begun, ended = (instants(free, e.ReportChanged, edge="front edge", level=level)[-1]
                    for level in (Level.PRESSED, Level.REST))
    limit = int(ended - begun) - over
    site = replace(site, controller=replace(site.controller, press_limit=limit))
    seen = run(site, 9 * S, (at, e.PressStrip("front edge")), (at + 5 * S, e.ReleaseStrip("front edge")))
    assert bool(instants(seen, e.OrdersChanged, lockout=Lockout.CLOSING)) is latched
