"""Mutants of the reference controller: each is one small error, and is tried only where it can make a difference."""

from __future__ import annotations

from pathlib import Path

import pytest

from gatesim.cli import known
from gatesim.plant.logic.controller_table import TABLE, Mode, Trigger
from gatesim.run import default_roles, run_scenario
from gatesim.search import mutants as m
from gatesim.search.trial import Fate, Story, sound, try_wrong

SCENARIOS = Path(__file__).parents[2] / "scenarios"
FIRST = str(SCENARIOS / "first-look.scenario.yaml")
ALL = m.mutants()


@pytest.fixture(scope="module")
def first() -> Story:
    return Story(FIRST, known.scenario(FIRST))


def named(name: str) -> m.Mutant:
    return next(one for one in ALL.made if one.name == name)


def number(mode: Mode, trigger: Trigger) -> int:
    return next(k for k, row in enumerate(TABLE.rows, 1) if (row.mode, row.trigger) == (mode, trigger))


def test_there_are_many_of_every_sort() -> None:
    names = [one.name for one in ALL.made]
    assert len(set(names)) == len(names) > 500
    for part in ("-ignored", "-stays", "-to-", "-without-", "-as-", "-late", "-early", "-never-over", "-over-at-once"):
        assert any(part in name for name in names), part
    assert all(any(name.startswith(time.replace("_", "-")) for name in names) for time in m.TIMES)


def test_a_row_mutant_differs_from_the_table_in_one_row() -> None:
    for one in ALL.made:
        if one.pair is not None:
            table = one.make()._fire.__self__
            changed = [row for row in table.rows if row not in TABLE.rows]
            assert len(changed) <= 1
            assert {(row.mode, row.trigger) for row in set(TABLE.rows) ^ set(table.rows)} == {one.pair}


def test_the_reference_notes_what_it_is_asked_and_stays_the_reference(first: Story) -> None:
    asked = m.Asked()
    noted = run_scenario(first.scenario, default_roles()._replace(controller=asked), keep=False)
    assert noted.rows == run_scenario(first.scenario, default_roles(), keep=False).rows
    assert (Mode.CLOSING, Trigger.DEMAND) in asked.asked
    assert (Mode.HOLDING, Trigger.STOP) not in asked.asked


def test_a_gate_that_does_not_reverse_is_caught(first: Story) -> None:
    k = number(Mode.DWELL, Trigger.DWELL_OVER) + 1
    tried = [try_wrong(one, [first], {FIRST: sound(first).asked}) for one in ALL.made
             if one.pair == (Mode.DWELL, Trigger.DWELL_OVER) and "-ignored" in one.name]
    assert any(one.fate is Fate.CAUGHT for one in tried), k


def test_a_mutant_that_no_story_comes_to_is_missed_without_a_run(first: Story) -> None:
    mutant = named(f"row-{number(Mode.HOLDING, Trigger.STOP)}-ignored")
    tried = try_wrong(mutant, [first], {FIRST: sound(first).asked})
    assert (tried.fate, tried.runs) == (Fate.MISSED, 0)
    assert tried.why.startswith("no scenario comes to")


def test_what_is_passed_over_would_have_been_the_reference(first: Story) -> None:
    """The short cut is right: run all the same, such mutants give the reference's verdicts."""
    asked = sound(first).asked
    reference = run_scenario(first.scenario, default_roles(), keep=False).rows
    away = [one for one in ALL.made if one.pair is not None and one.pair not in asked]
    for one in away[:: len(away) // 8]:
        assert run_scenario(first.scenario, one.roles(default_roles()), keep=False).rows == reference


def test_a_wrong_time_is_caught_where_it_matters(first: Story) -> None:
    tried = try_wrong(named("reversal-dwell-never-over"), [first], {})
    assert tried.fate is Fate.CAUGHT


def test_a_sample_is_drawn_by_the_seed() -> None:
    one = m.chosen(20, 1)
    assert one == m.chosen(20, 1)
    assert one != m.chosen(20, 2)
    assert [ALL.made.index(each) for each in one] == sorted(ALL.made.index(each) for each in one)
    assert m.chosen(None, 1) == m.chosen(10**5, 1) == ALL.made
