"""CSV (RFC 4180): a head, every text in quotes, lines that end in CR LF, UTF-8.

A text that a spreadsheet would take for a formula gets an apostrophe before it (the usual remedy): what stands in a
file is shown, never calculated.  Numbers are numbers, a negative one as well; truths are `true` and `false`.
"""

from __future__ import annotations

import csv
from io import StringIO

from gatesim.report.table import Cell, Table
from gatesim.shown import on_one_line

FORMULA = ("=", "+", "-", "@", "＝", "＋", "－", "＠")  # the wide ones are read like the others
"""With what a formula begins, white space before it left out."""


def render(table: Table) -> bytes:
    """The table."""
    page = StringIO()
    writer = csv.writer(page, quoting=csv.QUOTE_NONNUMERIC)
    writer.writerow([column.name for column in table.columns])
    writer.writerows([_cell(cell) for cell in row] for row in table.rows)
    return page.getvalue().encode()


def _cell(cell: Cell) -> str | int:
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return str(cell).lower()
    if isinstance(cell, int):
        return cell
    said = on_one_line(cell)
    return f"'{said}" if said.lstrip().startswith(FORMULA) else said
