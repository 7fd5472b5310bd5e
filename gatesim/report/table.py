"""A table of plain values: what a spreadsheet or a notebook takes."""

from __future__ import annotations

from typing import NamedTuple

Cell = str | int | bool | None
"""None where a figure has no meaning or is not known."""


class Column(NamedTuple):
    """A column and what stands in it, `None` apart."""

    name: str
    kind: type[str] | type[int] | type[bool]


class Table(NamedTuple):
    """Rows in order, each with a cell for every column."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
