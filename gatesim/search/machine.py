"""The finite machine of a table: guards and timers are inputs, and what can be found wrong before anything runs.

An *input* is a trigger together with which of the guards hold that any row of this trigger asks; the same inputs exist
in every mode.  An *output* is the actions of the row that answers; None where the input is ignored.
"""

from __future__ import annotations

from collections.abc import Iterable
from enum import Enum
from functools import cached_property
from itertools import product
from typing import Any, NamedTuple, cast

from gatesim.plant.fsm import Row, Table

HAZARDS = ("DEMAND", "FAULT")
"""A trigger whose name has one of these words is a demand or a fault (a convention of ours)."""
ANSWERS = ("STOP", "LOCK", "SHUT_OFF")
"""An action, or the mode that a row leads to, whose name has one of these stops the leaf or locks it out (ours)."""


class Input(NamedTuple):
    """A trigger, and the guards that hold; those of the trigger's other guards do not."""

    trigger: Any
    holds: frozenset[Any]

    def words(self) -> str:
        """In words, as reports show it."""
        guards = ", ".join(sorted(str(guard.value) for guard in self.holds))
        return f"{self.trigger.value} [{guards}]" if guards else str(self.trigger.value)


class Machine:
    """A table as a complete finite machine over whole numbers: `after[s][x]` and `gives[s][x]` (a place in `outputs`),
    and which row (its place, -1: ignored) answers."""

    def __init__(self, table: Table[Any, Any, Any, Any], inputs: tuple[Input, ...] | None = None) -> None:
        self.table = table
        self.modes: tuple[Any, ...] = tuple(cast(Iterable[Any], table.modes))
        self.inputs = inputs_of(table) if inputs is None else inputs
        self.number: dict[Input, int] = {one: k for k, one in enumerate(self.inputs)}
        self.places = {id(row): k for k, row in enumerate(table.rows)}
        self.answers: list[list[int]] = [[self._row(mode, one) for one in self.inputs] for mode in self.modes]
        self.first = self.modes.index(table.first)
        self.outputs: list[tuple[Any, ...] | None] = [None]
        self.after: list[list[int]] = []
        self.gives: list[list[int]] = []
        seats = {mode: k for k, mode in enumerate(self.modes)}
        known: dict[tuple[Any, ...] | None, int] = {None: 0}
        for s, line in enumerate(self.answers):
            rows = [None if k < 0 else table.rows[k] for k in line]
            self.after.append([s if row is None else seats[row.target] for row in rows])
            said = [None if row is None else row.actions for row in rows]
            for one in said:
                if one not in known:
                    known[one] = len(self.outputs)
                    self.outputs.append(one)
            self.gives.append([known[one] for one in said])

    def _row(self, mode: Any, given: Input) -> int:
        row = self.table.fire(mode, given.trigger, given.holds.__contains__)
        return -1 if row is None else self.places[id(row)]

    @cached_property
    def reached(self) -> dict[int, tuple[int, ...]]:
        """The modes that some inputs lead to, each with a shortest such word."""
        found: dict[int, tuple[int, ...]] = {self.first: ()}
        todo = [self.first]
        for here in todo:
            for x, there in enumerate(self.after[here]):
                if there not in found:
                    found[there] = (*found[here], x)
                    todo.append(there)
        return found

    @cached_property
    def used(self) -> frozenset[int]:
        """Places of the rows that some input chooses in a mode that can be reached."""
        return frozenset(k for s in self.reached for k in self.answers[s] if k >= 0)


def asked_by(table: Table[Any, Any, Any, Any]) -> dict[Any, tuple[Any, ...]]:
    """For each trigger the guards that its rows ask, in the order of the table."""
    asked: dict[Any, dict[Any, None]] = {trigger: {} for trigger in table.triggers}
    for row in table.rows:
        asked[row.trigger] |= dict.fromkeys(row.guards)
    return {trigger: tuple(guards) for trigger, guards in asked.items()}


def inputs_of(table: Table[Any, Any, Any, Any]) -> tuple[Input, ...]:
    """Every input: each trigger with each combination of the guards that its rows ask."""
    found: list[Input] = []
    for trigger, guards in asked_by(table).items():
        for values in product((False, True), repeat=len(guards)):
            found.append(Input(trigger, frozenset(g for g, holds in zip(guards, values, strict=True) if holds)))
    return tuple(found)


class Unanswered(NamedTuple):
    """A mode in which a demand or a fault is never answered by a stop or a lockout, whatever the guards."""

    mode: Any
    trigger: Any
    ignored: bool
    """Ignored on purpose; else it is answered, but by no stop and no lockout."""


class Findings(NamedTuple):
    """What a table shows before anything runs."""

    unreachable: tuple[Any, ...]
    """Modes that no input leads to."""
    shadowed: tuple[Row, ...]
    """Rows of modes that can be reached, which no input chooses: rows above answer in their place."""
    no_way_out: tuple[Any, ...]
    """Modes that can be reached, and that nothing leaves."""
    no_way_back: tuple[Any, ...]
    """Modes that can be left, but from which nothing leads back to the first one."""
    unanswered: tuple[Unanswered, ...]

    @property
    def wrong(self) -> bool:
        """Whether a mode is unreachable or a trap."""
        return bool(self.unreachable or self.no_way_out or self.no_way_back)


def examine(machine: Machine) -> Findings:
    """Look at a table without running it."""
    table, reached = machine.table, machine.reached
    back = _leads_to(machine, machine.first)
    stuck = {s for s in reached if s != machine.first and all(there == s for there in machine.after[s])}
    in_order = sorted(reached)
    shadowed = [row for k, row in enumerate(table.rows)
                if machine.modes.index(row.mode) in reached and k not in machine.used]
    return Findings(
        tuple(mode for k, mode in enumerate(machine.modes) if k not in reached),
        tuple(shadowed),
        tuple(machine.modes[s] for s in in_order if s in stuck),
        tuple(machine.modes[s] for s in in_order if s not in back and s not in stuck),
        tuple(_unanswered(machine, in_order)))


def _leads_to(machine: Machine, goal: int) -> set[int]:
    """The modes from which some inputs lead to this one."""
    found = {goal}
    while more := {s for s in machine.reached if s not in found and any(t in found for t in machine.after[s])}:
        found |= more
    return found


def _unanswered(machine: Machine, modes: Iterable[int]) -> Iterable[Unanswered]:
    for s in modes:
        for trigger in machine.table.triggers:
            if not _named(trigger, HAZARDS):
                continue
            answers = [k for k, one in zip(machine.answers[s], machine.inputs, strict=True) if one.trigger is trigger]
            rows = [machine.table.rows[k] for k in answers if k >= 0]
            if not any(_stops(row) for row in rows):
                yield Unanswered(machine.modes[s], trigger, ignored=not rows)


def _stops(row: Row) -> bool:
    return _named(row.target, ANSWERS) or any(_named(action, ANSWERS) for action in row.actions)


def _named(one: Enum, words: tuple[str, ...]) -> bool:
    return any(word in one.name for word in words)


def pairs_of(machine: Machine) -> tuple[tuple[int, int], ...]:
    """Every pair of rows of which the second can follow the first (places in the table)."""
    rows = machine.table.rows
    used = sorted(machine.used)
    return tuple((a, b) for a in used for b in used if rows[b].mode is rows[a].target)


def row_words(row: Row) -> str:
    """A row in words."""
    guards = " and ".join(str(guard.value) for guard in row.guards)
    return f"{row.mode.value}: {row.trigger.value}{f' [{guards}]' if guards else ''} -> {row.target.value}"
