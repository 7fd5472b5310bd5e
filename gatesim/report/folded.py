"""Plain text in 80 columns, to be printed at the gate: lines folded at words."""

from __future__ import annotations

import textwrap

COLUMNS = 80


def printable(text: str) -> str:
    """Names come from a file: nothing in them may act on a terminal or break a line."""
    return "".join(sign if sign.isprintable() else " " for sign in text)


def fold(text: str, first: str = "", rest: str | None = None) -> list[str]:
    """A text broken at words; `first` stands before its first line, `rest` (by default blanks) before the others."""
    after = " " * len(first) if rest is None else rest
    said = printable(text)
    return textwrap.wrap(said, COLUMNS, initial_indent=first, subsequent_indent=after, break_on_hyphens=False)
