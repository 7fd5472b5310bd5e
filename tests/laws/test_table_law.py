"""The table run by `transitions` and the compiled one agree on every mode, trigger and combination of guards.

Held over the reference table, over tables wrong in one place, and over tables at random.
"""

from __future__ import annotations

import sys
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gatesim.plant.fsm import Row, Table
from gatesim.plant.logic.controller_table import TABLE, Guard, Mode, Trigger
from gatesim.search.machine import Machine
from gatesim.search.wrong_tables import mutants

sys.path.insert(0, str(Path(__file__).parents[1] / "search"))

from tables import any_table

WRONG = mutants(TABLE)
BATCH = 16


def guards_of(table: Table, mode: Any, trigger: Any) -> list[Any]:
    named = {guard for row in table.rows if row.mode is mode and row.trigger is trigger for guard in row.guards}
    return sorted(named, key=lambda guard: guard.name)


def hold(table: Table, mode: Any, triggers: Any) -> int:
    """Hold the law in a mode; how many combinations were answered."""
    answered = 0
    for trigger in triggers:
        guards = guards_of(table, mode, trigger)
        for values in product((False, True), repeat=len(guards)):
            world = dict(zip(guards, values, strict=True))
            looked_up = table.fire(mode, trigger, lambda guard, world=world: world[guard])
            assert table.fire_by_library(mode, trigger, lambda guard, world=world: world[guard]) is looked_up
            answered += looked_up is not None
    return answered


def hold_compiled(table: Table) -> None:
    """The finite machine and the library agree on every mode and input, guards that its rows do not ask included."""
    machine = Machine(table)
    for s, mode in enumerate(machine.modes):
        for x, one in enumerate(machine.inputs):
            row = table.fire_by_library(mode, one.trigger, one.holds.__contains__)
            k = machine.answers[s][x]
            assert (None if k < 0 else table.rows[k]) is row
            assert machine.modes[machine.after[s][x]] is (mode if row is None else row.target)
            assert machine.outputs[machine.gives[s][x]] == (None if row is None else row.actions)


@pytest.mark.parametrize("mode", Mode)
def test_library_and_lookup_agree(mode: Mode) -> None:
    assert hold(TABLE, mode, Trigger), f"{mode} answers nothing at all"


def test_library_and_machine_agree() -> None:
    hold_compiled(TABLE)


@pytest.mark.parametrize("batch", range(BATCH))
def test_they_agree_on_what_is_changed_in_wrong_tables(batch: int) -> None:
    """On the pair that each wrong table changes: the rest of it is the reference's."""
    chosen = WRONG[batch::BATCH * 4] + tuple(one for one in WRONG[batch::BATCH] if one.change.name != "TARGET")
    assert chosen
    for one in chosen:
        hold(one.table(TABLE), one.row.mode, (one.row.trigger,))


@pytest.mark.parametrize("number", range(0, len(WRONG), len(WRONG) // 12))
def test_they_agree_on_the_whole_of_some_wrong_tables(number: int) -> None:
    hold_compiled(WRONG[number].table(TABLE))


@given(st.integers(0, 10**9))
@settings(max_examples=150, deadline=None, derandomize=True, database=None)
def test_they_agree_on_any_table(seed: int) -> None:
    table = any_table(seed)
    assert sum(hold(table, mode, table.triggers) for mode in table.modes)
    hold_compiled(table)


def test_a_lookup_that_is_wrong_is_noticed() -> None:
    """Rows tried from the last to the first: the law must not hold."""

    class Backwards(Table):  # type: ignore[type-arg]
        def fire(self, mode: Any, trigger: Any, holds: Any) -> Row | None:
            rows = self._by_pair.get((mode, trigger), ())
            return next((row for row in reversed(rows) if all(holds(guard) for guard in row.guards)), None)

    wrong = Backwards(TABLE.modes, TABLE.triggers, TABLE.first, TABLE.rows, TABLE.ignored)
    with pytest.raises(AssertionError):
        hold(wrong, Mode.STOPPING, Trigger)


def test_every_row_can_be_chosen() -> None:
    chosen = set()
    for mode, trigger in product(Mode, Trigger):
        guards: list[Guard] = guards_of(TABLE, mode, trigger)
        for values in product((False, True), repeat=len(guards)):
            world = dict(zip(guards, values, strict=True))
            row = TABLE.fire(mode, trigger, lambda guard, world=world: world[guard])
            if row is not None:
                chosen.add(TABLE.rows.index(row))
    assert chosen == set(range(len(TABLE.rows)))
