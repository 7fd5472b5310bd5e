"""Two leaves whose motion follows from forces: each out of its own motor, loads and arm."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from gatesim import events as e
from gatesim.events import Command, Direction, LeafName, Origin, Side, Stamped
from gatesim.field.air_time import travel_time
from gatesim.plant.contactors import DriveTerminals
from gatesim.plant.contactors import parts as drives
from gatesim.plant.dynamics import dynamics_of, start_thrust, weakest_stop
from gatesim.plant.leaf import Leaf
from gatesim.plant.leaf import parts as leaf_parts
from gatesim.plant.leaves import as_leaf, leaves
from gatesim.plant.sequencer import hold_at
from gatesim.plant.site import SecondLeaf, Site, Zone
from gatesim.run import default_roles, run_scenario
from gatesim.scenario.check_site import check_site
from gatesim.scenario.model import GiveCommand, Scenario
from gatesim.scenario.read import read_site

SITES = Path(__file__).parents[2] / "scenarios" / "sites"
S = 1_000_000


@pytest.fixture
def court() -> Site:
    """The swinging gate of Kiln Court, and a second leaf beside it with a weaker brake, closing over it."""
    one = read_site(SITES / "kiln-court.site.yaml")
    assert one.drive.motor is not None
    brake = 0.8 * (one.drive.motor.brake_force or dynamics_of(one).brake)  # type: ignore[union-attr]
    drive = replace(one.drive, motor=replace(one.drive.motor, brake_force=brake))
    zones = (*one.zones, *(Zone(f"second {way.value}", way, 0.0, one.gate.travel, leaf=LeafName.SECOND)
                           for way in Direction))
    second = SecondLeaf(LeafName.SECOND, 600_000, 1_200_000, 0.2 * one.gate.travel, drive=drive)
    return replace(one, zones=zones, second_leaf=second)


def story(site: Site, *moves: tuple[int, Command]) -> tuple[Stamped, ...]:
    steps = tuple(GiveCommand(do="command", command=command, at=at, origin=Origin.WIRED) for at, command in moves)
    run = run_scenario(Scenario("two", "", site, moves[-1][0] + 60 * S, steps, ()), default_roles())
    return run.sections[0].events


def test_each_leaf_has_its_own_forces(court: Site) -> None:
    made = [part for part in leaf_parts(court, None) if isinstance(part, Leaf)]  # type: ignore[arg-type]
    first, second = (part.driven.forces for part in made)  # type: ignore[union-attr]
    assert second.brake == pytest.approx(0.8 * first.brake)
    assert (first.stall, first.arm) == (second.stall, second.arm)
    asked = [part.thrust for part in drives(court, None) if isinstance(part, DriveTerminals)]  # type: ignore[arg-type]
    assert asked == [start_thrust(as_leaf(court, leaf)) for leaf in LeafName]


def test_both_reach_their_ends_and_keep_their_order(court: Site) -> None:
    events = story(court, (S, Command.OPEN), (60 * S, Command.CLOSE))
    reached = [(event.leaf, event.side) for _, event in events if isinstance(event, e.LimitReached)]
    assert sorted(reached, key=str) == sorted(((leaf, side) for leaf in LeafName for side in Side), key=str)
    started = [(at, event.leaf) for at, event in events if isinstance(event, e.LeafStarted)]
    assert [leaf for _, leaf in started[:2]] == [LeafName.SECOND, LeafName.FIRST]
    assert [leaf for _, leaf in started[2:4]] == [LeafName.FIRST, LeafName.SECOND]
    ends = [at for at, event in events if isinstance(event, e.LeafStopped)]
    opening = max(at for at in ends if at < 60 * S) - started[0][0]
    # The sum goes on to the stop; a leaf stands where its switch and its run-out leave it.  The wait at the overlap is
    # 4 s of it.
    assert opening == pytest.approx(travel_time(court, Direction.OPENING), abs=50_000)


def test_the_leaf_on_top_waits_by_its_own_brake(court: Site) -> None:
    """The leaf underneath is held back, so that the one on top comes to where it must wait."""
    assert court.second_leaf is not None
    top, table = as_leaf(court, LeafName.SECOND), replace(court.second_leaf, closing_delay=0)
    slow = replace(court.drive, speed_closing=court.drive.slow_speed)
    events = story(replace(court, drive=slow, second_leaf=table), (S, Command.OPEN), (60 * S, Command.CLOSE))
    v, drive = max(top.drive.speed_closing, top.drive.slow_speed), top.drive
    assert hold_at(court, LeafName.SECOND) == pytest.approx(
        table.overlap + v * drive.stopping_delay + v * v / (2 * weakest_stop(top)))
    waited = [event.x for at, event in events
              if isinstance(event, e.LeafStopped) and event.leaf is LeafName.SECOND and at > 60 * S]
    assert table.overlap <= waited[0] < hold_at(court, LeafName.SECOND)


def test_a_second_motor_that_is_too_weak_is_refused_at_its_place(court: Site) -> None:
    assert [one for one in check_site(court) if not one.warning] == []
    assert court.second_leaf is not None
    drive = leaves(court)[1].drive
    assert drive.motor is not None
    weak = replace(drive, motor=replace(drive.motor, stall_torque=0.01 * drive.motor.stall_torque))
    found = [one for one in check_site(replace(court, second_leaf=replace(court.second_leaf, drive=weak)))
             if not one.warning]
    assert [one.path for one in found] == [("second_leaf", "drive", "motor", "stall_torque")]
    assert found[0].message.startswith("second leaf: ")
    torn = replace(drive, motor=replace(drive.motor, gear_ratio=0.0))
    found = [one for one in check_site(replace(court, second_leaf=replace(court.second_leaf, drive=torn)))
             if not one.warning]
    assert [one.path for one in found] == [("second_leaf", "drive", "motor", "gear_ratio")]
