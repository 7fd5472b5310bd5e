"""What a diagram of a controller's table shows beside the table: what scenarios used, and the path of one run."""

from __future__ import annotations

from collections.abc import Iterable
from enum import Enum
from typing import Any, NamedTuple

from gatesim.plant.fsm import Row, Table

SHARED = 6
"""A trigger that leads to the same state from so many states or more is one arrow, from "any of n states"."""


class Use(Enum):
    """Of a transition."""

    UNKNOWN = ""
    USED = "used"
    NEVER = "never exercised"


class Marks(NamedTuple):
    """Places are those of the table's rows."""

    title: str
    used: frozenset[int] | None = None
    """What scenarios used; None: nobody looked."""
    scenarios: int = 0
    path: tuple[int, ...] = ()
    """The rows that a run used, in order."""
    run: str = ""
    """Name of the run whose path it is."""

    def use(self, place: int) -> Use:
        """Of a row."""
        if self.used is None:
            return Use.UNKNOWN
        return Use.USED if place in self.used or place in self.path else Use.NEVER

    def steps(self, place: int) -> tuple[int, ...]:
        """At which steps of the run a row was used, from 1."""
        return tuple(step for step, one in enumerate(self.path, 1) if one == place)


class Line(NamedTuple):
    """One arrow: the rows that lead from a state to another, or from many states to one."""

    source: Any
    """A mode; None: any of several, which `rows` name."""
    target: Any
    rows: tuple[int, ...]


def lines_of(table: Table[Any, Any, Any, Any]) -> tuple[Line, ...]:
    """The arrows of a table, in its order; rows that stay in their state are none."""
    shared: dict[tuple[Any, Any], list[int]] = {}
    for place, row in enumerate(table.rows):
        if row.mode is not row.target:
            shared.setdefault((row.trigger, row.target), []).append(place)
    many = {key: places for key, places in shared.items() if len({table.rows[k].mode for k in places}) >= SHARED}
    pairs: dict[tuple[Any, Any], list[int]] = {}
    for place, row in enumerate(table.rows):
        if row.mode is not row.target and (row.trigger, row.target) not in many:
            pairs.setdefault((row.mode, row.target), []).append(place)
    return (*(Line(None, target, tuple(places)) for (_, target), places in many.items()),
            *(Line(source, target, tuple(places)) for (source, target), places in pairs.items()))


def short(row: Row) -> str:
    """Trigger and guards of a row."""
    guards = " and ".join(str(guard.value) for guard in row.guards)
    return f"{row.trigger.value} [{guards}]" if guards else str(row.trigger.value)


def all_never(marks: Marks, places: Iterable[int]) -> bool:
    """Whether scenarios used none of these rows."""
    return all(marks.use(place) is Use.NEVER for place in places)


def seen_states(table: Table[Any, Any, Any, Any], marks: Marks) -> frozenset[Any]:
    """The states that scenarios or the run were in, the first one included."""
    places = {*(marks.used or ()), *marks.path}
    rows = [table.rows[place] for place in places]
    return frozenset({table.first, *(row.mode for row in rows), *(row.target for row in rows)})
