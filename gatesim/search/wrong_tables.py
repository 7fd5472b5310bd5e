"""Tables that are wrong in one place, and which suite notices.

A mutant has one row changed: another target, other actions, or one guard not asked.  A mutant whose outputs never
differ, whatever the inputs, is equal and is not counted (decided by going through all pairs of modes, not by trying).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from enum import Enum
from typing import Any, NamedTuple

from gatesim.plant.fsm import Row, Table
from gatesim.search.machine import Machine, row_words
from gatesim.search.suites import Word


class Change(Enum):
    """What is wrong with a mutant."""

    TARGET = "wrong target"
    ACTIONS = "wrong actions"
    GUARD = "missing guard"


class Mutant(NamedTuple):
    """One wrong table."""

    change: Change
    place: int
    row: Row
    """What stands at that place."""

    def table(self, right: Table[Any, Any, Any, Any]) -> Table[Any, Any, Any, Any]:
        """The whole wrong table."""
        rows = (*right.rows[:self.place], self.row, *right.rows[self.place + 1:])
        return Table(right.modes, right.triggers, right.first, rows, right.ignored, checked=False)

    def words(self, right: Table[Any, Any, Any, Any]) -> str:
        """In words."""
        was, now = right.rows[self.place], self.row
        if self.change is Change.TARGET:
            return f"{row_words(was)}: leads to {now.target.value!r} instead"
        if self.change is Change.GUARD:
            gone = next(guard for guard in was.guards if guard not in now.guards)
            return f"{row_words(was)}: does not ask {gone.value!r}"
        less = [action.value for action in was.actions if action not in now.actions]
        more = [action.value for action in now.actions if action not in was.actions]
        return f"{row_words(was)}: " + " and ".join(
            [f"leaves out {one!r}" for one in less] + [f"does {one!r} as well" for one in more])


def mutants(table: Table[Any, Any, Any, Any]) -> tuple[Mutant, ...]:
    """Each row with each other target, without each of its actions (or with one more where it has none), and without
    each of its guards."""
    return tuple(one for place, row in enumerate(table.rows) for one in _of(table, place, row))


def _of(table: Table[Any, Any, Any, Any], place: int, row: Row) -> Iterator[Mutant]:
    for mode in table.modes:
        if mode is not row.target:
            yield Mutant(Change.TARGET, place, row._replace(target=mode))
    for action in row.actions:
        yield Mutant(Change.ACTIONS, place, row._replace(actions=tuple(a for a in row.actions if a is not action)))
    if not row.actions:
        every = list(dict.fromkeys(action for one in table.rows for action in one.actions))
        if every:
            yield Mutant(Change.ACTIONS, place, row._replace(actions=(every[place % len(every)],)))
    for guard in row.guards:
        yield Mutant(Change.GUARD, place, row._replace(guards=tuple(g for g in row.guards if g is not guard)))


class Score(NamedTuple):
    """How many mutants of a kind a suite notices; `equal` ones can't be and are not counted among them."""

    made: int
    equal: int
    noticed: int

    @property
    def share(self) -> float:
        """Of those that can be noticed."""
        return self.noticed / (self.made - self.equal) if self.made > self.equal else 1.0


class Trial:
    """The mutants of a table, ready to be put to suites on the finite machine alone."""

    def __init__(self, machine: Machine, made: Sequence[Mutant]) -> None:
        self.machine, self.mutants = machine, tuple(made)
        self.wrong = [_wrong(machine, one) for one in self.mutants]
        self.equal = [not differs(machine, one) for one in self.wrong]

    def scores(self, suite: Iterable[Word]) -> dict[Change, Score]:
        """How a suite does."""
        words = sorted(suite, key=len)
        passing = self._passing(words)
        found = dict.fromkeys(Change, (0, 0, 0))
        for mutant, wrong, equal in zip(self.mutants, self.wrong, self.equal, strict=True):
            seen = not equal and self._seen(wrong, words, passing)
            made, same, noticed = found[mutant.change]
            found[mutant.change] = (made + 1, same + equal, noticed + seen)
        return {change: Score(*counts) for change, counts in found.items()}

    def _passing(self, words: Sequence[Word]) -> dict[tuple[int, int], list[tuple[int, int]]]:
        """For each mode and input the (word, step) that first come to it."""
        found: dict[tuple[int, int], list[tuple[int, int]]] = {}
        for k, word in enumerate(words):
            s, been = self.machine.first, set()
            for step, x in enumerate(word):
                if (s, x) not in been:
                    been.add((s, x))
                    found.setdefault((s, x), []).append((k, step))
                s = self.machine.after[s][x]
        return found

    def _seen(self, wrong: _Wrong, words: Sequence[Word],
              passing: dict[tuple[int, int], list[tuple[int, int]]]) -> bool:
        """Whether any word gets another output; until its change is met a mutant is as the right machine."""
        return any(self._parts(wrong, words[k], step, place[0])
                   for place in wrong.changed for k, step in passing.get(place, ()))

    def _parts(self, wrong: _Wrong, word: Word, step: int, begin: int) -> bool:
        right = self.machine
        s = t = begin
        for x in word[step:]:
            there, said = wrong.changed.get((t, x)) or (right.after[t][x], right.gives[t][x])
            if said != right.gives[s][x]:
                return True
            s, t = right.after[s][x], there
        return False


class _Wrong(NamedTuple):
    """Where a mutant's machine is another: (mode, input) -> (mode after, output)."""

    changed: dict[tuple[int, int], tuple[int, int]]


def _wrong(machine: Machine, mutant: Mutant) -> _Wrong:
    table, right = mutant.table(machine.table), machine.table.rows[mutant.place]
    s = machine.modes.index(right.mode)
    known = {one: k for k, one in enumerate(machine.outputs)}
    changed: dict[tuple[int, int], tuple[int, int]] = {}
    for x, given in enumerate(machine.inputs):
        if given.trigger is not right.trigger:
            continue
        row = table.fire(right.mode, given.trigger, given.holds.__contains__)
        said = None if row is None else row.actions
        there = s if row is None else machine.modes.index(row.target)
        output = known.setdefault(said, len(known))
        if (there, output) != (machine.after[s][x], machine.gives[s][x]):
            changed[s, x] = (there, output)
    return _Wrong(changed)


def differs(machine: Machine, wrong: _Wrong) -> bool:
    """Whether any word of inputs gets another output from the mutant.

    Until a word comes to what is changed, both are in the same mode: the search begins behind that.
    """
    seen: set[tuple[int, int]] = set()
    todo: list[tuple[int, int]] = []
    for (s, x), (there, said) in wrong.changed.items():
        if s in machine.reached:
            if said != machine.gives[s][x]:
                return True
            todo.append((machine.after[s][x], there))
    for s, t in todo:
        if s == t or (s, t) in seen:
            continue
        seen.add((s, t))
        for x in range(len(machine.inputs)):
            there, said = wrong.changed.get((t, x)) or (machine.after[t][x], machine.gives[t][x])
            if said != machine.gives[s][x]:
                return True
            todo.append((machine.after[s][x], there))
    return False
