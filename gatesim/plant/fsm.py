"""Enum tables of state machines: checked whole, run as pure interpreters.

The only importer of `transitions`.  A table is rows (mode, trigger, guards) -> (mode, actions), tried in order, and the
pairs that are ignored on purpose.  `Table.fire` looks rows up; `Table.fire_by_library` lets a `transitions.Machine`
built
from the same rows decide; a law in the tests proves that both agree on every mode, trigger and combination of guards.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from enum import Enum
from functools import cached_property, partial
from typing import Any, Generic, NamedTuple, TypeVar

from gatesim.errors import ModelError

Mode = TypeVar("Mode", bound=Enum)
Trigger = TypeVar("Trigger", bound=Enum)
Guard = TypeVar("Guard", bound=Enum)
Action = TypeVar("Action", bound=Enum)


class Row(NamedTuple):
    """In `mode`, on `trigger`, if all `guards` hold: do `actions`, be in `target`."""

    mode: Any
    trigger: Any
    guards: tuple[Any, ...]
    target: Any
    actions: tuple[Any, ...]


class _Seat:
    """The model object that `transitions` wants; it is told where it is before each trigger."""

    state: Any
    holds: Callable[[Any], bool]
    chosen: Row | None

    def asks(self, guard: Any) -> bool:
        return self.holds(guard)

    def note(self, row: Row) -> None:
        self.chosen = row


class Table(Generic[Mode, Trigger, Guard, Action]):
    """A checked table.

    Raises ModelError at once, naming the pair, when a mode and trigger are neither answered nor ignored on purpose,
    answered and ignored, left open behind guards, or followed by rows that can never be reached; when a mode is
    unreachable.  With `checked` False nothing is refused: for a table that is to be examined (`gatesim coverage`).
    """

    def __init__(self, modes: type[Mode], triggers: type[Trigger], first: Mode, rows: Iterable[Row],
                 ignored: Iterable[tuple[Mode, Trigger]], *, checked: bool = True) -> None:
        self.modes, self.triggers, self.first = modes, triggers, first
        self.rows = tuple(rows)
        self.ignored = frozenset(ignored)
        self._decided: dict[Any, Any] = {}
        """What the library decided: by mode and trigger a row, or a guard with what comes of each answer to it."""
        self._by_pair: dict[tuple[Mode, Trigger], tuple[Row, ...]] = {}
        for row in self.rows:
            pair = (row.mode, row.trigger)
            self._by_pair[pair] = (*self._by_pair.get(pair, ()), row)
        if checked:
            self._check()

    def _check(self) -> None:
        for mode in self.modes:
            for trigger in self.triggers:
                self._check_pair(mode, trigger)
        reached, todo = {self.first}, [self.first]
        while todo:
            here = todo.pop()
            for row in self.rows:
                if row.mode is here and row.target not in reached:
                    reached.add(row.target)
                    todo.append(row.target)
        for mode in self.modes:
            if mode not in reached:
                raise ModelError(f"table: {mode} is never reached from {self.first}")

    def _check_pair(self, mode: Mode, trigger: Trigger) -> None:
        rows, ignored = self._by_pair.get((mode, trigger), ()), (mode, trigger) in self.ignored
        if not rows and not ignored:
            raise ModelError(f"table: {mode} has no answer to {trigger}, and it is not ignored on purpose")
        if rows and ignored:
            raise ModelError(f"table: {mode} both answers and ignores {trigger}")
        if rows and rows[-1].guards:
            raise ModelError(f"table: the last row of {mode} on {trigger} has a guard, so there may be no answer")
        if any(not row.guards for row in rows[:-1]):
            raise ModelError(f"table: a row of {mode} on {trigger} stands behind one without a guard")

    def fire(self, mode: Mode, trigger: Trigger, holds: Callable[[Guard], bool]) -> Row | None:
        """The row that answers, or None where the pair is ignored."""
        for row in self._by_pair.get((mode, trigger), ()):
            if all(holds(guard) for guard in row.guards):
                return row
        return None

    def fire_by_library(self, mode: Mode, trigger: Trigger, holds: Callable[[Guard], bool]) -> Row | None:
        """The same answer, decided by `transitions`: it is asked once for each way in which the guards answer."""
        node = self._decided.get((mode, trigger))
        while type(node) is tuple:
            node = node[1].get(bool(holds(node[0])))
        if node is not None or (mode, trigger) in self.ignored:
            return node
        asked: list[tuple[Guard, bool]] = []

        def noted(guard: Guard) -> bool:
            asked.append((guard, bool(holds(guard))))
            return asked[-1][1]

        row = self._ask_library(mode, trigger, noted)
        ways, answer = self._decided, (mode, trigger)
        for guard, holds_now in asked:
            ways, answer = ways.setdefault(answer, (guard, {}))[1], holds_now  # type: ignore[assignment]
        ways[answer] = row
        return row

    def _ask_library(self, mode: Mode, trigger: Trigger, holds: Callable[[Guard], bool]) -> Row:
        machine, seat = self._machine
        machine.set_state(mode, seat)
        seat.holds, seat.chosen = holds, None
        seat.trigger(trigger.name)
        if seat.chosen is None or seat.state is not seat.chosen.target:
            raise ModelError(f"table: the library answered {trigger} in {mode} with {seat.state}")
        return seat.chosen  # type: ignore[no-any-return]

    @cached_property
    def _machine(self) -> tuple[Any, Any]:
        import transitions

        seat: Any = _Seat()
        machine = transitions.Machine(model=seat, states=self.modes, initial=self.first, auto_transitions=False)
        for row in self.rows:
            machine.add_transition(row.trigger.name, row.mode, row.target,
                                   conditions=[partial(seat.asks, guard) for guard in row.guards],
                                   before=partial(seat.note, row))
        return machine, seat

    def mermaid(self) -> str:
        """The state diagram as Mermaid text."""
        lines = ["stateDiagram-v2", f"    [*] --> {self.first.name}"]
        for row in self.rows:
            if row.mode is not row.target:
                guards = " and ".join(str(guard.value) for guard in row.guards)
                label = f"{row.trigger.value} [{guards}]" if guards else str(row.trigger.value)
                lines.append(f"    {row.mode.name} --> {row.target.name}: {label}")
        return "\n".join(lines) + "\n"
