"""Formats of a sweep's table: each file here writes `Table` in one, by its `render`; called as the file.

A file whose library is an extra has `needs`, which says so before any work is done.
"""

from __future__ import annotations

from importlib import import_module
from pkgutil import iter_modules
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from gatesim.report.table import Table


def names() -> tuple[str, ...]:
    """The formats that there are; none is loaded for it."""
    return tuple(sorted(found.name for found in iter_modules(__path__)))


def needs(style: str) -> None:
    """A BadUsage where a format's library is not there."""
    getattr(import_module(f"{__name__}.{style}"), "needs", lambda: None)()


def render(style: str, table: Table) -> bytes:
    """The table in a format."""
    raw: bytes = import_module(f"{__name__}.{style}").render(table)
    return raw
