"""A page of plain text for when nobody watches: what our console would give without colours and folding.

Loading rich takes longer than judging a scenario.
"""

from __future__ import annotations

from typing import Any, Protocol

from gatesim.shown import visible

_SILENT = dict.fromkeys((7, 8, 11, 12, 13))
"""Control characters that rich leaves out; the others are written out."""


class Page(Protocol):
    """What a renderer of lines needs of a console: rich's, or `Plain`."""

    def print(self, *objects: Any, style: Any = ..., end: str = ..., markup: Any = ..., soft_wrap: Any = ...) -> Any:
        """One line of text (or, with another `end`, a part of one)."""


class Plain:
    """A console that prints text as it is: every line must be given with `markup=False` and `soft_wrap=True`."""

    def __init__(self) -> None:
        self._parts: list[str] = []

    def print(
        self, *objects: Any, style: Any = "", end: str = "\n", markup: Any = False, soft_wrap: Any = True
    ) -> None:
        """One line, or a part of one.  `style` is for those who watch."""
        text = visible(" ".join(map(str, objects)).translate(_SILENT))
        self._parts.append("\n".join(line.expandtabs(8) for line in text.split("\n")) + end)

    def text(self) -> str:
        """All that was printed."""
        return "".join(self._parts)
