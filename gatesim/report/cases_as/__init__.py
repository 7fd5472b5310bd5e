"""Formats that a CI reads: each file here writes `Cases` in one, by its `render`; the format is called as the file."""

from __future__ import annotations

from importlib import import_module
from pkgutil import iter_modules
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from gatesim.report.cases import Cases


def names() -> tuple[str, ...]:
    """The formats that there are; none is loaded for it."""
    return tuple(sorted(found.name for found in iter_modules(__path__)))


def render(style: str, cases: Cases) -> str:
    """The cases in a format, ending in a line feed."""
    text: str = import_module(f"{__name__}.{style}").render(cases)
    return text
