"""A controller's table as a state diagram in Mermaid's language."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any, cast

from gatesim.plant.fsm import Table
from gatesim.report.state_marks import Marks, Use, lines_of, seen_states, short

_ODD = re.compile(r"[^A-Za-z0-9 ,.()\[\]_/+*=-]")


def mermaid(table: Table[Any, Any, Any, Any], marks: Marks) -> str:
    """The text.  A transition that no scenario used says so; one of the run's path tells its steps."""
    modes = list(cast(Iterable[Any], table.modes))
    name = {mode: f"s{number}" for number, mode in enumerate(modes)}
    lines = [f"%% {_plain(marks.title)}", "stateDiagram-v2"]
    lines += [f'    state "{_text(mode.value)}" as {name[mode]}' for mode in modes]
    lines.append(f"    [*] --> {name[table.first]}")
    for line in lines_of(table):
        if line.source is None:
            lines += _shared(table, marks, line.rows, name)
            continue
        lines += [f"    {name[line.source]} --> {name[line.target]}: {_label(table, marks, (place,))}"
                  for place in line.rows]
    return "\n".join([*lines, *_classes(table, marks, name)]) + "\n"


def _shared(table: Table[Any, Any, Any, Any], marks: Marks, rows: tuple[int, ...], name: dict[Any, str]) -> list[str]:
    source = f"any{rows[0]}"
    modes = {table.rows[place].mode for place in rows}
    return [f'    state "any of {len(modes)} states" as {source}',
            f"    {source} --> {name[table.rows[rows[0]].target]}: {_label(table, marks, rows)}"]


def _label(table: Table[Any, Any, Any, Any], marks: Marks, rows: tuple[int, ...]) -> str:
    never = sum(marks.use(place) is Use.NEVER for place in rows)
    steps = sorted(step for place in rows for step in marks.steps(place))
    said = _text(short(table.rows[rows[0]]))
    if never:
        said += " (never exercised)" if never == len(rows) else f" (never exercised in {never} of {len(rows)})"
    if steps:
        said += f" (step {', '.join(map(str, steps))})"
    return said


def _classes(table: Table[Any, Any, Any, Any], marks: Marks, name: dict[Any, str]) -> list[str]:
    """How states look: those never seen dashed, those of the path bold."""
    made: list[str] = []
    seen = seen_states(table, marks)
    on_path = [mode for mode in name if marks.path and any(
        mode in (table.rows[place].mode, table.rows[place].target) for place in marks.path)]
    never = [mode for mode in name if marks.used is not None and mode not in seen]
    if never:
        made += ["    classDef never stroke-dasharray: 4 4", f"    class {','.join(name[m] for m in never)} never"]
    if on_path:
        made += ["    classDef path stroke-width: 3px, font-weight: bold",
                 f"    class {','.join(name[mode] for mode in on_path)} path"]
    return made


def _text(value: object) -> str:
    """A text in which nothing is a sign of the language: odd characters by their numbers."""
    return _ODD.sub(lambda found: f"#{ord(found.group())};" if found.group().isprintable() else " ", str(value))


def _plain(value: str) -> str:
    return _ODD.sub(" ", value)
