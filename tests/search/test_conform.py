"""The conformance kit: what is met, missed and never exercised, and that a gate that never moves meets no motion."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from gatesim.bench.inside import UnderTest
from gatesim.cli import known
from gatesim.plant.faults.catalogue import faults
from gatesim.plant.logic.contract import Roles
from gatesim.plant.logic.controller_reference import ReferenceController
from gatesim.requirements.catalogue import requirements
from gatesim.requirements.verdict import Outcome
from gatesim.run import NOT_CYCLED, default_roles
from gatesim.search import conform as kit
from gatesim.search.conform import MOTION, NEVER_MOVED, STRIDE, Mark, Standing, Swept, marks, played, swept, together
from gatesim.search.doubles.catalogue import doubles
from gatesim.search.ground import Phase
from gatesim.search.laws import Laws
from gatesim.search.sweep import Order, bench_for
from gatesim.search.trial import Story

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[2] / "docs" / "examples"))

import first_controller
import still

SCENARIOS = Path(__file__).parents[2] / "scenarios"
NO_LAWS = Laws(0, 0, (), 0, ended=False, absent="not asked for")

def stories(*names: str) -> list[Story]:
    files = [SCENARIOS / f"{name}.scenario.yaml" for name in dict.fromkeys(names)]
    return [Story(str(file), known.scenario(file)) for file in files if file.exists()]


def with_controller(make: Callable[[], Any]) -> Roles:
    return default_roles()._replace(controller=UnderTest("controller", make.__name__, make(), make))


def asked(make: Callable[[], Any], *names: str) -> tuple[Mark, ...]:
    return marks(list(played(stories(*names), with_controller(make))), NO_LAWS)


MOTIONS = {name for name, one in requirements().items() if set(one.needs) & set(MOTION)}
STILL = (still.IgnoresEverything, still.RefusesEverything, still.StopsAlways, still.LockedAlways)


def test_what_is_about_motion() -> None:
    assert {"no-unsafe-start", "no-motion-without-command", "reversal-begun", "never-both-directions", "peak-force",
            "lockout-origins", "hold-stops-on-release", "beam-fault-found-by-test"} <= MOTIONS
    assert not {"battery-low-lead", "alarm-lasts", "reset-press-and-release"} & MOTIONS


VACUOUS = ("alarm-and-power", "beam-dazzled-opening", "first-look", "two-leaves-healthy", "hold-to-run")
"""Scenarios in which they pass every requirement of motion that they pass in any."""


@pytest.mark.slow
@pytest.mark.parametrize("make", STILL)
def test_one_that_never_moves_meets_no_requirement_of_motion(make) -> None:
    runs = list(played(stories(*VACUOUS), with_controller(make)))
    every = marks(runs, NO_LAWS)
    assert {mark.requirement for mark in every if mark.standing is Standing.MET} & MOTIONS == set()
    assert any(mark.why == NEVER_MOVED for mark in every)
    order = Order(known.site(SCENARIOS / "sites" / "mill-lane.site.yaml"), None, 1, (Phase.TRAVEL,),
                  lambda: with_controller(make))
    sweep = swept(order, 1.0, 1)
    assert sweep.rows == ()
    assert sweep.absent
    assert together(order, runs, sweep, NO_LAWS, "", 0.0).missed
    # Some were passed scenario by scenario: it is that nothing moved which makes them worthless.
    passed = {row.requirement for run in runs for row in run.rows if row.verdict.outcome is Outcome.PASS}
    assert passed & MOTIONS


def test_the_reference_misses_nothing_and_what_nobody_asked_is_not_met() -> None:
    every = {mark.requirement: mark for mark in asked(ReferenceController, "first-look", "hold-to-run")}
    assert not any(mark.misses for mark in every.values())
    assert every["reversal-begun"].standing is Standing.MET
    assert every["hold-stops-on-release"].standing is Standing.MET
    assert every["beam-reversal-begun"].standing is Standing.NOT_EXERCISED


def test_a_failure_and_what_is_not_shown_are_told_with_their_scenario() -> None:
    def latches() -> Any:
        return doubles()["controller-hold-latches"].make()

    every = {mark.requirement: mark for mark in asked(latches, "first-look", "hold-to-run")}
    mark = every["hold-stops-on-release"]
    assert mark.standing is Standing.MISSED
    assert [(Path(miss.where).name, miss.failure) for miss in mark.misses] == [
        ("hold-to-run.scenario.yaml", "too far")]
    assert every["reversal-begun"].standing is Standing.MET


class OwnSupply(ReferenceController):
    power_cycles = False


def test_what_cannot_be_asked_of_one_with_its_own_supply_is_no_miss() -> None:
    every = {mark.requirement: mark for mark in asked(OwnSupply, "alarm-and-power")}
    mark = every["lockout-survives-power-loss"]
    assert (mark.standing, mark.misses, mark.why) == (Standing.NOT_EXERCISED, (), NOT_CYCLED)


class Dies(ReferenceController):
    def step(self, state: Any, seen: Any, now: float) -> Any:
        if now > 2_000_000:
            raise ZeroDivisionError("the fuse")
        return super().step(state, seen, now)


def test_one_that_dies_is_told_and_misses() -> None:
    runs = list(played(stories("first-look", "hold-to-run"), with_controller(Dies)))
    assert all("ZeroDivisionError: the fuse" in run.died for run in runs)
    site = known.site(SCENARIOS / "sites" / "mill-lane.site.yaml")
    order = Order(site, None, 1, (Phase.TRAVEL,), default_roles)
    whole = together(order, runs, Swept((), (), (), 0, absent="x"), NO_LAWS, "", 0.0)
    assert whole.missed
    assert len(whole.deaths) == 2


def order_for(make: Callable[[], Any]) -> Order:
    site = known.site(SCENARIOS / "sites" / "orchard-row.site.yaml")
    return Order(site, None, 1, (Phase.TRAVEL,), lambda: with_controller(make))


def test_a_sweep_without_time_does_not_reach_the_rest() -> None:
    found = swept(order_for(ReferenceController), 0.0, 1, kinds=("loop-open", "loop-short"))
    assert len(found.rows) == 1
    assert found.unreached >= 3
    assert not found.missed


@pytest.mark.slow
def test_rows_that_differ_are_missed_unless_the_reference_comes_to_the_same(monkeypatch) -> None:
    monkeypatch.setattr(kit, "LONG_ROW", 0.05)
    found = swept(order_for(first_controller.Second), None, 1, kinds=("loop-open",))
    assert {row.fault for row in found.missed} == {"loop-open"}
    assert found.excused == ()
    assert not swept(order_for(ReferenceController), None, 1, kinds=("loop-open",)).missed


def test_a_sweep_goes_through_its_rows_in_strides() -> None:
    order = order_for(ReferenceController)
    bench = bench_for(order)
    tasks = bench.tasks(tuple(faults()))
    first = sorted(tasks, key=lambda task: task.number * STRIDE % len(tasks))[:12]
    assert len({task.fault for task in first}) > 8
