"""The driver and the driven suite: what is said to be exercised is, and wrong tables are noticed through the plant."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from gatesim.cli.roles import load_roles
from gatesim.cli.wanted import Wanted
from gatesim.plant.logic.controller_table import TABLE
from gatesim.plant.world import World
from gatesim.run import Course, default_roles
from gatesim.scenario.read import read_site
from gatesim.search.driven import EACH, W_METHOD, Driven, Trip, _suffixes, drive
from gatesim.search.ground import nothing
from gatesim.search.machine import Machine
from gatesim.search.steer import Driver
from gatesim.search.suites import distinct
from gatesim.search.tap import Tap
from gatesim.search.wrong_tables import Change

sys.path.insert(0, str(Path(__file__).parent))

import lamp_logic

SITE = read_site(Path(__file__).parents[2] / "scenarios" / "sites" / "orchard-row.site.yaml")


@pytest.fixture(scope="module")
def explored() -> Iterator[Driver]:
    with Tap(TABLE) as tap:
        driver = Driver(SITE, default_roles(), Machine(TABLE), tap, 1)
        driver.explore(3_000)
        yield driver


def replayed(driver: Driver, given, ends: float) -> set[tuple[int, int]]:  # type: ignore[no-untyped-def]
    """What is asked in a story from power-up, without any fork."""
    driver._asks = []
    driver.tap.note = driver._note
    course = Course(driver.plant, World(driver.plant, driver.seed), given, int(ends) + 1, None, nothing)
    while (now := course.next()) <= ends:
        course.live(now)
    return {(ask.mode, ask.given) for ask in driver._asks}


@pytest.mark.slow
def test_what_is_produced_is_asked_when_the_story_is_replayed_from_power_up(explored: Driver) -> None:
    assert len(explored.reached) > 120
    for place, nodes in sorted(explored.reached.items())[::7]:
        for node in nodes[:1]:
            assert place in replayed(explored, node.agenda, node.at)


@pytest.mark.slow
def test_an_exercised_step_is_the_transition_and_then_the_word(explored: Driver) -> None:
    machine = explored.machine
    told = distinct(machine)
    tests, count = _suffixes(explored, told, lambda: True)
    assert count == sum(len(some) - 1 for some in tests.values()) > 100
    explored.tap.note = explored._note
    for place, some in sorted(tests.items())[::9]:
        for test in some[:-1]:
            explored.play(test.begin.world, test.given, test.ends)
            asks = list(explored._asks)
            at = next(k for k, ask in enumerate(asks) if (ask.mode, ask.given) == place)
            # Up to its word only what is ignored.
            first = next(ask for ask in asks[at + 1:]
                         if ask.row >= 0 or any(word[0] == ask.given for word in told.words))
            assert any(word[0] == first.given for word in told.words)


@pytest.fixture(scope="module")
def driven() -> Driven:
    return drive(SITE, default_roles(), 1, 3_000, None, lambda made: made[::23])


@pytest.mark.slow
def test_the_driven_suite_notices_more_than_each_transition_once(driven: Driven) -> None:
    w, once = driven.noticed[W_METHOD], driven.noticed[EACH]
    assert w[Change.TARGET].exercised == once[Change.TARGET].exercised > 50
    assert w[Change.TARGET].noticed / w[Change.TARGET].exercised > 0.85
    assert w[Change.TARGET].noticed > once[Change.TARGET].noticed * 1.1
    assert all(scores[change].noticed <= scores[change].exercised <= scores[change].made - scores[change].equal
               for scores in driven.noticed.values() for change in Change)
    assert len(driven.survivors) == sum(one.exercised - one.noticed for one in w.values())


@pytest.mark.slow
def test_what_was_not_exercised_is_counted_and_is_no_pass(driven: Driven) -> None:
    machine = Machine(TABLE)
    assert driven.transitions == len(machine.modes) * len(machine.inputs)
    assert 120 < len(driven.produced) < driven.transitions
    assert driven.exercised < driven.steps == driven.transitions * len(driven.words)
    met = driven.noticed[W_METHOD][Change.TARGET]
    assert met.exercised < met.made - met.equal
    # A distance can be done only while a reversal is under way: no history asks it elsewhere.
    asked = {machine.modes[s].name for s, x in driven.produced if machine.inputs[x].trigger.name == "DISTANCE"}
    assert asked <= {"REVERSING", "RELIEVING"}


@pytest.mark.slow
def test_the_same_seed_drives_the_same() -> None:
    one, two, other = (drive(SITE, default_roles(), seed, 300, None, lambda made: made[::211])._replace(seconds=0.0)
                       for seed in (1, 1, 2))
    assert one == two
    assert one.produced != other.produced


@pytest.mark.slow
def test_a_controller_of_ones_own_is_driven() -> None:
    roles = load_roles(Wanted(controller=f"{Path(lamp_logic.__file__)}:Lamp"))
    done = drive(SITE, roles, 1, 300)
    machine_inputs = {(s, x) for s, x in done.produced if s < 2}
    assert done.produced == machine_inputs, "nothing leads to the spare state"
    target = done.noticed[W_METHOD][Change.TARGET]
    assert 0 < target.noticed <= target.exercised
    assert done.alone[W_METHOD][Change.TARGET].share == 1.0


@pytest.mark.slow
def test_time_that_is_over_leaves_wrong_tables_untried() -> None:
    done = drive(SITE, default_roles(), 1, 10**6, 2.0)
    assert not done.judged
    assert done.noticed[W_METHOD][Change.TARGET].made < 2_000


def test_a_right_table_is_never_noticed(explored: Driver) -> None:
    explored.tap.note = None
    for nodes in list(explored.reached.values())[:40]:
        node = nodes[0]
        test = Trip(node.parent, node.given, node.at)
        once = explored.play(test.begin.world, test.given, test.ends)
        assert explored.play(test.begin.world, test.given, test.ends) == once
