"""A story is broken at words under its own column where a person watches, and left whole where a program reads."""

from __future__ import annotations

from io import StringIO

from rich.console import Console

from gatesim.report.run_text import MARGIN, Line, draw_story

LONG = "reports " + "front edge at rest, " * 5 + "and so on"


def page(watched: bool) -> list[str]:
    file = StringIO()
    console = Console(file=file, width=80, force_terminal=watched, color_system=None)
    draw_story(console, [Line(1e6, "|#...........|", "receiver", LONG, False)])
    return file.getvalue().splitlines()


def test_broken_at_words_for_a_person() -> None:
    lines = page(True)
    assert len(lines) > 1
    assert max(len(line) for line in lines) <= 80
    assert all(line.startswith(" " * MARGIN) for line in lines[1:])
    assert " ".join(line[MARGIN:].strip() for line in lines) == LONG


def test_whole_for_a_program() -> None:
    (line,) = page(False)
    assert line.endswith(LONG)
