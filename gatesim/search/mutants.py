"""Mutants of the reference controller: its table with one small error in it, or one of its times wrong.

A mutant is run like any controller, in its role and with the plant around it.  Whether it can behave otherwise at all
in a story is known beforehand: up to the first time that its pair of mode and trigger is asked for, it is the
reference.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache, partial
from typing import Any, NamedTuple

from gatesim.errors import ModelError
from gatesim.plant.draws import draw, stream_key
from gatesim.plant.fsm import Row, Table
from gatesim.plant.logic.contract import ControllerDo, ControllerSettings, Roles
from gatesim.plant.logic.controller_memory import Memory
from gatesim.plant.logic.controller_reference import ReferenceController
from gatesim.plant.logic.controller_table import TABLE, Action, Guard, Mode, Trigger

Pair = tuple[Mode, Trigger]

TIMES = ("reversal_dwell", "test_time", "start_limit", "stop_limit", "travel_time_opening", "travel_time_closing",
         "press_limit", "recovery_time", "reset_window", "alarm_time", "automatic_closing", "closing_warning")
"""Settings of the controller that are times."""
NEVER = 1 << 50

_CONFUSED = {
    Action.GO: Action.HOLD_ORDER, Action.HOLD_ORDER: Action.GO, Action.ORDER_BACK: Action.ORDER_RELIEF,
    Action.ORDER_RELIEF: Action.ORDER_BACK, Action.LOCK_ALL: Action.LOCK_BOTH, Action.LOCK_BOTH: Action.LOCK,
    Action.COUNT: Action.BLAME, Action.BLAME: Action.COUNT, Action.COMPLETE: Action.REACHED,
    Action.REACHED: Action.COMPLETE, Action.REARM: Action.DISARM, Action.DISARM: Action.REARM,
    Action.SHUT_OFF: Action.STOP_ORDER, Action.STOP_ORDER: Action.SHORTEN, Action.CLEAR: Action.REFUSE_RESET,
    Action.REFUSE_RESET: Action.CLEAR, Action.REFUSE: Action.FORGET,
}
"""An action and the one that is most easily written in its place."""


class Mutant(NamedTuple):
    """One wrong controller.  `pair`: where it is other than the reference (None: everywhere)."""

    name: str
    what: str
    pair: Pair | None
    make: Callable[[], Any]

    def roles(self, reference: Roles) -> Roles:
        """The reference logic with this mutant as its controller."""
        return reference._replace(controller=self.make())


class _ByTable(ReferenceController):
    """The reference controller by another table."""

    def __init__(self, table: Table[Any, Any, Any, Any]) -> None:
        super().__init__(by_library=False)
        self._fire = table.fire


class _ByTimes(ReferenceController):
    """The reference controller that is told one of its times wrong."""

    def __init__(self, name: str, wrong: Callable[[int], int]) -> None:
        super().__init__(by_library=False)
        self.name, self.wrong = name, wrong

    def start(self, settings: ControllerSettings, kept: bytes | None) -> tuple[Memory, ControllerDo]:
        changed: dict[str, Any] = {}
        if getattr(settings, self.name) is not None:
            changed[self.name] = self.wrong(getattr(settings, self.name))
        return super().start(settings._replace(**changed), kept)


class Asked(ReferenceController):
    """The reference controller with a note of every pair of mode and trigger that its table was asked for."""

    def __init__(self) -> None:
        super().__init__(by_library=False)
        self.asked: set[Pair] = set()
        self._fire = self._noted

    def _noted(self, mode: Mode, trigger: Trigger, holds: Callable[[Guard], bool]) -> Row | None:
        self.asked.add((mode, trigger))
        return TABLE.fire(mode, trigger, holds)


class Mutants(NamedTuple):
    """All of them; `refused`: those that the table's own check at import finds before anything runs."""

    made: tuple[Mutant, ...]
    refused: tuple[str, ...]


@cache
def mutants() -> Mutants:
    """Every mutant, in the order of the table and then of the times."""
    made: list[Mutant] = []
    refused: list[str] = []
    for k, row in enumerate(TABLE.rows):
        for what, changed in _changes(row):
            if changed == row:
                continue
            title = f"{row.mode.value}: {row.trigger.value}" + "".join(f", {guard.value}" for guard in row.guards)
            name = f"row-{k + 1}-{what}"
            try:
                table = _table(k, changed)
            except ModelError:
                refused.append(name)
            else:
                made.append(Mutant(name, title, (row.mode, row.trigger), partial(_ByTable, table)))
    for time in TIMES:
        for what, wrong in _WRONG.items():
            made.append(Mutant(f"{time.replace('_', '-')}-{what}", time, None,
                               partial(_ByTimes, time, wrong)))
    return Mutants(tuple(made), tuple(refused))


_WRONG: dict[str, Callable[[int], int]] = {
    "one-tick-in-ten-late": lambda right: right + right // 10,
    "one-tick-in-ten-early": lambda right: right - right // 10,
    "never-over": lambda right: NEVER,
    "over-at-once": lambda right: 1,
}


def _changes(row: Row) -> Iterator[tuple[str, Row]]:
    yield "ignored", row._replace(target=row.mode, actions=())
    other = Mode.REST if row.target is not Mode.REST else Mode.OPENING
    yield f"to-{other.name.lower()}", row._replace(target=other)
    if row.target is not row.mode and other is not row.mode:
        yield "stays", row._replace(target=row.mode)
    for guard in row.guards:
        yield f"without-{guard.name.lower()}", row._replace(guards=tuple(one for one in row.guards if one is not guard))
    for k, action in enumerate(row.actions):
        name = action.name.lower()
        yield f"without-{name}", row._replace(actions=(*row.actions[:k], *row.actions[k + 1:]))
        if action in _CONFUSED:
            confused = _CONFUSED[action]
            yield (f"{name}-as-{confused.name.lower()}",
                   row._replace(actions=(*row.actions[:k], confused, *row.actions[k + 1:])))


def _table(number: int, changed: Row) -> Table[Any, Any, Any, Any]:
    """The table with one row changed; rows of its pair behind one without guards fall away, being never asked."""
    rows, closed = [], False
    for k, row in enumerate(TABLE.rows):
        if k == number:
            rows.append(changed)
            closed = not changed.guards
        elif not (closed and k > number and (row.mode, row.trigger) == (changed.mode, changed.trigger)):
            rows.append(row)
    return Table(Mode, Trigger, TABLE.first, rows, TABLE.ignored)


def chosen(count: int | None, seed: int) -> tuple[Mutant, ...]:
    """So many mutants, drawn by the seed, or all (None)."""
    every = mutants().made
    if count is None or count >= len(every):
        return every
    order = sorted(every, key=lambda one: draw(seed, stream_key(one.name), 0, 1 << 62))
    return tuple(sorted(order[:count], key=every.index))
