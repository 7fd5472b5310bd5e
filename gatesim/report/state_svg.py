"""A controller's table as a picture: states and numbered arrows, and below them every transition in words."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from typing import Any, NamedTuple, cast

from gatesim.plant.fsm import Table
from gatesim.report.state_layout import BOX, MARGIN, Laid, Point, lay_out
from gatesim.report.state_marks import Line, Marks, Use, all_never, lines_of, seen_states, short

_LETTER, _SMALL = 7.4, 6.0
"""Width of a letter of a state's name, and of the list, in the mean."""
_LONG = 60
"""Lines of the list from which on it stands in two columns."""
_LINE, _HEAD = 17.0, 74.0
_STYLE = """
text { font: 12px sans-serif; fill: #1a1a1a }
.title { font-size: 17px; font-weight: bold }
.state rect { fill: #f4f6f8; stroke: #1a1a1a; stroke-width: 1.2 }
.state text { font-size: 13px; text-anchor: middle }
.state.many rect { fill: #ffffff; stroke-dasharray: 2 3 }
.state.never rect { fill: #ffffff; stroke: #767676; stroke-dasharray: 5 4 }
.state.path rect { stroke: #0b57a4; stroke-width: 3; fill: #e3effb }
.arrow path { fill: none; stroke: #4a4a4a; stroke-width: 1.3 }
.arrow.never path { stroke: #8a8a8a; stroke-dasharray: 5 4 }
.arrow.path path { stroke: #0b57a4; stroke-width: 3.2 }
.arrow circle { fill: #ffffff; stroke: #4a4a4a }
.arrow.never circle { stroke: #8a8a8a; stroke-dasharray: 3 2 }
.arrow.path circle { stroke: #0b57a4; stroke-width: 2 }
.arrow text { font-size: 10.5px; text-anchor: middle }
.of { font-weight: bold }
.row.never { fill: #5f5f5f; font-style: italic }
.row.path { fill: #0b57a4; font-weight: bold }
"""


class _Entry(NamedTuple):
    """A line of the list."""

    text: str
    kind: str


def svg(table: Table[Any, Any, Any, Any], marks: Marks) -> str:
    """The whole picture.  Every mark is told by more than its colour."""
    modes = list(cast(Iterable[Any], table.modes))
    lines = lines_of(table)
    boxes = [*modes, *(line for line in lines if line.source is None)]
    seat = {id(box): k for k, box in enumerate(boxes)}
    names = [_name(box, table) for box in boxes]
    arrows = [(seat[id(line if line.source is None else line.source)], seat[id(line.target)]) for line in lines]
    laid = lay_out([len(name) * _LETTER + 26 for name in names], seat[id(table.first)], arrows)
    parts = [_arrow(number, line, laid.arrows[number - 1], table, marks) for number, line in enumerate(lines, 1)]
    parts += [_state(box, name, place, table, marks)
              for box, name, place in zip(boxes, names, laid.states, strict=True)]
    parts.append(_begin(laid, seat[id(table.first)]))
    listed, width, height = _list(_blocks(table, marks, lines), laid)
    wide = max(laid.width, width, 640.0)
    return _page(marks, wide, _HEAD + laid.height + height, [_moved(parts, (wide - laid.width) / 2), *listed])


def _page(marks: Marks, width: float, height: float, parts: list[str]) -> str:
    said = [f'<text class="title" x="{MARGIN}" y="30">{_safe(marks.title)}</text>']
    said += [f'<text x="{MARGIN}" y="{50 + 17 * k}">{_safe(text)}</text>' for k, text in enumerate(_legend(marks))]
    return "\n".join([
        (f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.0f}" height="{height:.0f}" '
         f'viewBox="0 0 {width:.0f} {height:.0f}" role="img" aria-label="{_safe(marks.title)}">'),
        f"<style>{_STYLE}</style>",
        ('<defs><marker id="head" viewBox="0 0 10 10" refX="9" refY="5" markerWidth="9" markerHeight="9" '
         'markerUnits="userSpaceOnUse" orient="auto"><path d="M0 0 10 5 0 10z" fill="#1a1a1a"/></marker></defs>'),
        f'<rect width="{width:.0f}" height="{height:.0f}" fill="#ffffff"/>',
        *said, *parts, "</svg>"]) + "\n"


def _legend(marks: Marks) -> list[str]:
    said = []
    if marks.used is not None:
        many = f"{marks.scenarios} scenario{'' if marks.scenarios == 1 else 's'}"
        said.append(f"○, dashed: never exercised by {many}. ●: exercised; that is no verdict.")
    if marks.run:
        said.append(f"▶, thick: the path of {marks.run}.")
    return said or ["Each arrow's number stands in the list below with its transitions."]


def _moved(parts: list[str], by: float) -> str:
    inner = "\n".join(parts)
    return f'<g transform="translate({by:.1f} {_HEAD})">\n{inner}\n</g>'


def _name(box: Any, table: Table[Any, Any, Any, Any]) -> str:
    if isinstance(box, Line):
        return f"any of {len({table.rows[place].mode for place in box.rows})} states"
    return str(box.value)


def _kind(used: bool, never: bool) -> str:
    return " path" if used else " never" if never else ""


def _state(box: Any, name: str, place: Point, table: Table[Any, Any, Any, Any], marks: Marks) -> str:
    width = len(name) * _LETTER + 26
    if isinstance(box, Line):
        kind, hint = " many", ", ".join(dict.fromkeys(str(table.rows[k].mode.value) for k in box.rows))
    else:
        rows = [table.rows[k] for k in marks.path]
        on_path = any(box in (row.mode, row.target) for row in rows)
        never = marks.used is not None and box not in seen_states(table, marks)
        kind, hint = _kind(on_path, never), ("never reached" if never else "")
    note = f"<title>{_safe(hint)}</title>" if hint else ""
    x, y = place.x - width / 2, place.y - BOX / 2
    return (f'<g class="state{kind}">{note}<rect x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{BOX}" rx="7"/>'
            f'<text x="{place.x:.1f}" y="{place.y + 4.5:.1f}">{_safe(name)}</text></g>')


def _begin(laid: Laid, first: int) -> str:
    x, y = laid.states[first].x, laid.states[first].y - BOX / 2
    return (f'<g class="arrow"><circle cx="{x:.1f}" cy="{y - 20:.1f}" r="5" style="fill: #1a1a1a"/>'
            f'<path d="M{x:.1f} {y - 15:.1f}V{y:.1f}" marker-end="url(#head)"/></g>')


def _arrow(number: int, line: Line, way: tuple[tuple[Point, ...], Point], table: Table[Any, Any, Any, Any],
           marks: Marks) -> str:
    points, place = way
    drawn = f"M{points[0].x:g} {points[0].y:g}"
    for a, b in pairwise(points):
        middle = (a.y + b.y) / 2
        drawn += f"C{a.x:g} {middle:g} {b.x:g} {middle:g} {b.x:g} {b.y:g}"
    kind = _kind(any(k in marks.path for k in line.rows), all_never(marks, line.rows))
    said = "; ".join(dict.fromkeys(short(table.rows[k]) for k in line.rows))
    return (f'<g class="arrow{kind}"><title>{number}: {_safe(said)}</title>'
            f'<path d="{drawn}" marker-end="url(#head)"/>'
            f'<circle cx="{place.x:g}" cy="{place.y:g}" r="9.5"/>'
            f'<text x="{place.x:g}" y="{place.y + 3.8:.1f}">{number}</text></g>')


# --- the list -----------------------------------------------------------------------------------------------------


def _blocks(table: Table[Any, Any, Any, Any], marks: Marks, lines: tuple[Line, ...]) -> list[list[_Entry]]:
    """Every row in words, under its state."""
    number = {place: k for k, line in enumerate(lines, 1) for place in line.rows}
    blocks = []
    for mode in cast(Iterable[Any], table.modes):
        block = [_Entry(str(mode.value), "of")]
        for place, row in enumerate(table.rows):
            if row.mode is mode:
                to = f"→ {row.target.value}" if row.target is not mode else "stays"
                arrow = f"{number[place]}: " if place in number else ""
                use, steps = marks.use(place), marks.steps(place)
                sign = "▶ " if steps else "○ " if use is Use.NEVER else "● " if use is Use.USED else ""
                tail = f" (step {', '.join(map(str, steps))})" if steps else ""
                tail += f" ({use.value})" if use is Use.NEVER else ""
                kind = _kind(bool(steps), use is Use.NEVER)
                block.append(_Entry(f"{sign}{arrow}{short(row)} {to}{tail}", f"row{kind}"))
        blocks.append(block)
    return blocks


def _list(blocks: list[list[_Entry]], laid: Laid) -> tuple[list[str], float, float]:
    """The list in columns below the arrows: its parts, its width and its height."""
    wide = max(len(entry.text) for block in blocks for entry in block) * _SMALL + 30
    count = sum(len(block) + 1 for block in blocks)
    columns = 2 if count > _LONG else 1
    share = count / columns
    parts, column, line, deepest = [], 0, 0, 0
    top = _HEAD + laid.height + 10
    for block in blocks:
        if line and line + len(block) / 2 > share and column < columns - 1:
            column, line = column + 1, 0
        for entry in block:
            x, y = MARGIN + column * wide + (0 if entry.kind == "of" else 12), top + line * _LINE
            parts.append(f'<text class="{entry.kind}" x="{x:.0f}" y="{y:.0f}">{_safe(entry.text)}</text>')
            line += 1
        line += 1
        deepest = max(deepest, line)
    return parts, MARGIN + columns * wide, deepest * _LINE + MARGIN


def _safe(text: str) -> str:
    """A text that XML takes."""
    from html import escape

    return escape("".join(letter if letter.isprintable() else " " for letter in text))
