"""Annotations, as GitHub's runner and those that follow it read them from a log (its "workflow commands").

One for each finding, at the line of the expectation, with all that a person must know to see what broke.  `%`, line
ends, and in a property `:` and `,` as well, are escaped in the way that the runner takes back.  Only lines that begin
with `::` are commands, and no free text begins a line here.
"""

from __future__ import annotations

from gatesim.report.cases import Cases, Place
from gatesim.shown import on_one_line, visible

LONGEST_TITLE = 250


def render(cases: Cases) -> str:
    """A line for each finding and note, and one that sums up."""
    lines = [_command("error", finding.place, finding.title, finding.lines) for finding in cases.findings()]
    lines += [_command("notice", note.place, note.title, note.lines) for note in cases.notes]
    lines.append(f"gatesim {cases.command}: {on_one_line(cases.closing)}")
    return "\n".join(lines) + "\n"


def _command(kind: str, place: Place, title: str, lines: tuple[str, ...]) -> str:
    spot = [("file", place.file), *([("line", str(place.line)), ("col", str(place.column))] if place.line else [])]
    properties = [*spot, ("title", on_one_line(title, LONGEST_TITLE))]
    said = ",".join(f"{name}={_property(value)}" for name, value in properties)
    return f"::{kind} {said}::{_data(chr(10).join(lines))}"


def _data(text: str) -> str:
    return visible(text).replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    return _data(text).replace(":", "%3A").replace(",", "%2C")
