"""The table run by `transitions` and the compiled one agree on every mode, trigger and combination of guards."""

from itertools import product

import pytest

from gatesim.plant.logic.controller_table import TABLE, Guard, Mode, Trigger


def guards_of(mode: Mode, trigger: Trigger) -> list[Guard]:
    named = {guard for row in TABLE.rows if row.mode is mode and row.trigger is trigger for guard in row.guards}
    return sorted(named, key=lambda guard: guard.name)


@pytest.mark.parametrize("mode", Mode)
def test_library_and_lookup_agree(mode: Mode) -> None:
    answered = 0
    for trigger in Trigger:
        guards = guards_of(mode, trigger)
        for values in product((False, True), repeat=len(guards)):
            world = dict(zip(guards, values, strict=True))
            looked_up = TABLE.fire(mode, trigger, lambda guard, world=world: world[guard])
            assert TABLE.fire_by_library(mode, trigger, lambda guard, world=world: world[guard]) is looked_up
            answered += looked_up is not None
    assert answered, f"{mode} answers nothing at all"


def test_every_row_can_be_chosen() -> None:
    chosen = set()
    for mode, trigger in product(Mode, Trigger):
        guards = guards_of(mode, trigger)
        for values in product((False, True), repeat=len(guards)):
            world = dict(zip(guards, values, strict=True))
            row = TABLE.fire(mode, trigger, lambda guard, world=world: world[guard])
            if row is not None:
                chosen.add(TABLE.rows.index(row))
    assert chosen == set(range(len(TABLE.rows)))
