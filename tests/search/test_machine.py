"""A table as a finite machine, and what is found wrong with it before anything runs."""

from __future__ import annotations

import sys
from enum import Enum
from itertools import product
from pathlib import Path

import pytest

from gatesim.plant.fsm import Row, Table
from gatesim.plant.logic.controller_table import TABLE, Mode, Trigger
from gatesim.search.machine import Machine, asked_by, examine, pairs_of

sys.path.insert(0, str(Path(__file__).parent))

from tables import Guards, any_table


class Lamp(Enum):
    DARK = "dark"
    LIT = "lit"
    BROKEN = "broken"
    SPARE = "spare"


class Push(Enum):
    SWITCH = "switch"
    LAMP_FAULT = "lamp fault"


class If(Enum):
    POWERED = "powered"
    BRIGHT = "bright"


class Do(Enum):
    LOCK = "lock"


ON = Row(Lamp.DARK, Push.SWITCH, (If.POWERED,), Lamp.LIT, ())
STAY = Row(Lamp.DARK, Push.SWITCH, (), Lamp.DARK, ())
OFF = Row(Lamp.LIT, Push.SWITCH, (), Lamp.DARK, ())
BREAK = Row(Lamp.LIT, Push.LAMP_FAULT, (), Lamp.BROKEN, (Do.LOCK,))


def lamp(*rows: Row) -> Machine:
    answered = {(row.mode, row.trigger) for row in rows}
    ignored = [pair for pair in product(Lamp, Push) if pair not in answered]
    return Machine(Table(Lamp, Push, Lamp.DARK, rows, ignored, checked=False))


def test_inputs_are_triggers_with_the_guards_that_hold() -> None:
    machine = lamp(ON, STAY, OFF)
    assert [(one.trigger, set(one.holds)) for one in machine.inputs] == [
        (Push.SWITCH, set()), (Push.SWITCH, {If.POWERED}), (Push.LAMP_FAULT, set())]
    assert machine.inputs[1].words() == "switch [powered]"
    assert machine.after[0] == [0, 1, 0]
    assert [machine.outputs[k] for k in machine.gives[0]] == [(), (), None]


def test_an_unreachable_mode_and_a_trap_are_found() -> None:
    found = examine(lamp(ON, STAY, OFF, BREAK))
    assert found.unreachable == (Lamp.SPARE,)
    assert found.no_way_out == (Lamp.BROKEN,)
    assert found.no_way_back == ()
    assert found.wrong


def test_no_way_back_is_not_the_same_as_no_way_out() -> None:
    round_and_round = (Row(Lamp.BROKEN, Push.SWITCH, (), Lamp.SPARE, ()),
                       Row(Lamp.SPARE, Push.SWITCH, (), Lamp.BROKEN, ()))
    found = examine(lamp(ON, STAY, OFF, BREAK, *round_and_round))
    assert (found.unreachable, found.no_way_out) == ((), ())
    assert found.no_way_back == (Lamp.BROKEN, Lamp.SPARE)


def test_a_shadowed_row_is_found_and_what_it_alone_leads_to() -> None:
    shadowed = Row(Lamp.DARK, Push.SWITCH, (If.BRIGHT, If.POWERED), Lamp.SPARE, ())
    found = examine(lamp(ON, shadowed, STAY, OFF))
    assert found.shadowed == (shadowed,)
    assert Lamp.SPARE in found.unreachable


def test_a_fault_without_a_stop_or_a_lockout_is_told() -> None:
    told = {(one.mode, one.ignored) for one in examine(lamp(ON, STAY, OFF, BREAK)).unanswered}
    assert told == {(Lamp.DARK, True), (Lamp.BROKEN, True)}
    shrug = BREAK._replace(actions=(), target=Lamp.LIT)
    told = {(one.mode, one.ignored) for one in examine(lamp(ON, STAY, OFF, shrug)).unanswered}
    assert (Lamp.LIT, False) in told


def test_the_reference_table_is_sound() -> None:
    found = examine(Machine(TABLE))
    assert not found.wrong
    assert found.shadowed == ()
    assert all(one.ignored for one in found.unanswered)
    # Whatever moves by an order answers a demand, a fault and a drive fault.
    moving = {Mode.OPENING, Mode.CLOSING, Mode.REVERSING, Mode.RELIEVING, Mode.HOLDING}
    assert not moving & {one.mode for one in found.unanswered}


def test_the_machine_answers_as_the_table() -> None:
    machine = Machine(TABLE)
    for s, x in product(range(len(machine.modes)), range(len(machine.inputs))):
        row = TABLE.fire(machine.modes[s], machine.inputs[x].trigger, machine.inputs[x].holds.__contains__)
        assert machine.outputs[machine.gives[s][x]] == (None if row is None else row.actions)
        assert machine.modes[machine.after[s][x]] is (machine.modes[s] if row is None else row.target)
    assert len(machine.inputs) == sum(2 ** len(guards) for guards in asked_by(TABLE).values())


def test_pairs_follow_one_another() -> None:
    rows = TABLE.rows
    pairs = pairs_of(Machine(TABLE))
    assert pairs
    assert all(rows[a].target is rows[b].mode for a, b in pairs)
    stop = next(k for k, row in enumerate(rows) if (row.mode, row.trigger) == (Mode.OPENING, Trigger.STOP))
    assert {rows[b].mode for a, b in pairs if a == stop} == {Mode.STOPPING}


@pytest.mark.parametrize("seed", range(20))
def test_reached_is_what_random_walking_finds(seed: int) -> None:
    import random

    machine, chance, seen, here = Machine(any_table(seed)), random.Random(seed), set(), 0
    for step in range(4000):
        if step % 50 == 0:
            here = machine.first
        seen.add(here)
        given = machine.inputs[chance.randrange(len(machine.inputs))]
        row = machine.table.fire(machine.modes[here], given.trigger, given.holds.__contains__)
        here = here if row is None else machine.modes.index(row.target)
    assert seen == set(machine.reached)
    assert all(guard in Guards for one in machine.inputs for guard in one.holds)
