"""What the product makes of published figures, and the page that shows it.

`.venv/bin/python tests/outside/test_published_figures.py` writes docs/outside-checks.md anew.
"""

from __future__ import annotations

import sys
from functools import cache
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from published_figures import COPY, GROUPS, MEMORY, PRACTICE, READ, TABLE_OF_CHECKS, WORKED, Row

PAGE = Path(__file__).parents[2] / "docs" / "outside-checks.md"

HEAD = """\
# Checks against figures from outside

Made from `tests/outside/published_figures.py` by `tests/outside/test_published_figures.py`; a test keeps it in step.

Each line asks the product a question whose answer stands elsewhere. "Ours" is computed by the product: by one of its
functions, or by running a small scenario. `=` means within the tolerance, `<=` and `>=` that the figure is a bound.

Status of the source: *read* there; *read in a copy*, that is in a secondary or old text; *from memory*; *calculated*
from another figure or with another tool; or *common practice, no source*. The clauses of 16 CFR part 1211 are for
garage doors. They stand here as analogues: agreement with a figure is no statement that a gate meets a rule, and the
local codes and the authority having jurisdiction decide.
"""


@cache
def ours_of(row: Row) -> float:
    """Computed once for check and page."""
    return row.ours()


def agrees(row: Row, ours: float) -> bool:
    if row.relation == "=":
        return abs(ours - row.reference) <= row.tolerance
    return ours <= row.reference if row.relation == "<=" else ours >= row.reference


@pytest.mark.parametrize("row", TABLE_OF_CHECKS, ids=lambda row: row.quantity)
def test_a_figure_from_outside(row: Row) -> None:
    ours = ours_of(row)
    assert agrees(row, ours), f"{row.quantity}: ours {ours} {row.unit}, {row.source} ({row.status}) has {row.reference}"


def test_the_table_is_whole() -> None:
    assert len(TABLE_OF_CHECKS) >= 20
    assert len({row.quantity for row in TABLE_OF_CHECKS}) == len(TABLE_OF_CHECKS)
    assert {row.status for row in TABLE_OF_CHECKS} <= {READ, COPY, MEMORY, WORKED, PRACTICE}
    assert all(row.source and row.relation in ("=", "<=", ">=") for row in TABLE_OF_CHECKS)


@pytest.mark.parametrize("row", TABLE_OF_CHECKS, ids=lambda row: row.quantity)
def test_a_wrong_figure_would_be_found(row: Row) -> None:
    shift = max(abs(row.reference) * 0.05, 2 * row.tolerance, 1e-3)
    assert not agrees(row, row.reference - shift if row.relation == ">=" else row.reference + shift)


def digits(value: float) -> str:
    return f"{value:.6g}" if abs(value) < 1e6 else f"{value:.0f}"


def page() -> str:
    lines = [HEAD]
    for title, rows in GROUPS:
        lines += [f"## {title}\n", "| quantity | ours | | reference | tolerance | unit | source | status |",
                  "|---|---|---|---|---|---|---|---|"]
        lines += [
            f"| {row.quantity} | {digits(ours_of(row))} | {row.relation} | {digits(row.reference)} "
            f"| {digits(row.tolerance) if row.relation == '=' else ''} | {row.unit} | {row.source} | {row.status} |"
            for row in rows
        ]
        lines.append("")
    return "\n".join(lines)


def test_the_page_is_in_step() -> None:
    assert PAGE.read_text() == page()


if __name__ == "__main__":
    PAGE.write_text(page())
