"""The coverage matrix: 60 cells with the scenarios that cover each, and requirement x scenario."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from gatesim.events import Direction
from gatesim.report.cells import BY_NAME, CELLS, IMPOSSIBLE, Cell, Phase, State
from gatesim.report.judged import Judged
from gatesim.requirements.verdict import Outcome

if TYPE_CHECKING:
    from rich.console import Console


class Cover(NamedTuple):
    """Who covers a cell: claimed and shown by the trace, and claimed only.  Numbers of the scenarios, from 1."""

    shown: tuple[int, ...]
    claimed: tuple[int, ...]


MARKS = {Outcome.PASS: "P", Outcome.FAIL: "F", Outcome.NOT_EXERCISED: ".", Outcome.UNDETERMINED: "?"}


def cover(results: Sequence[Judged]) -> dict[Cell, Cover]:
    """Every cell with who covers it.  A claim that the trace does not bear out is not cover."""
    return {
        cell: Cover(
            tuple(n for n, result in enumerate(results, 1) if str(cell) in result.claims and cell in result.witnessed),
            tuple(
                n for n, result in enumerate(results, 1) if str(cell) in result.claims and cell not in result.witnessed
            ),
        )
        for cell in CELLS
    }


def unknown_claims(results: Sequence[Judged]) -> tuple[tuple[str, str], ...]:
    """(file, claim) of tags that name no cell."""
    return tuple((result.file, claim) for result in results for claim in result.claims if claim not in BY_NAME)


def draw(console: Console, results: Sequence[Judged]) -> None:
    """Print both tables."""
    _draw_scenarios(console, results)
    _draw_cells(console, results)
    _draw_requirements(console, results)


def _draw_scenarios(console: Console, results: Sequence[Judged]) -> None:
    console.print("Scenarios", style="bold")
    for number, result in enumerate(results, 1):
        console.print(f"{number:>4}  {result.outcome:<12} {result.file}", markup=False, soft_wrap=True)


def _draw_cells(console: Console, results: Sequence[Judged]) -> None:
    from rich.table import Table

    covered = cover(results)
    table = Table(
        title="Coverage: scenario numbers; ? claimed but not seen in the trace; NONE no scenario",
        title_justify="left",
        box=None,
        pad_edge=False,
    )
    table.add_column("state")
    table.add_column("direction")
    for phase in Phase:
        table.add_column(phase.value)
    for state in State:
        for direction in Direction:
            row = [_said(Cell(state, direction, phase), covered) for phase in Phase]
            table.add_row(state.value, direction.value, *row)
    console.print()
    console.print(table)
    there = sum(bool(covered[cell].shown) for cell in CELLS)
    console.print(
        f"{there} of {len(CELLS)} cells covered, {len(IMPOSSIBLE)} cannot exist, "
        f"{len(CELLS) - there - len(IMPOSSIBLE)} open.",
        soft_wrap=True,
    )
    for cell, why in IMPOSSIBLE.items():
        console.print(f"  {cell}: {why}", markup=False, soft_wrap=True)
    for file, claim in unknown_claims(results):
        console.print(f"  {file}: no such cell: {claim!r}", markup=False, soft_wrap=True)


def _said(cell: Cell, covered: dict[Cell, Cover]) -> str:
    if cell in IMPOSSIBLE:
        return "can't be"
    shown, claimed = covered[cell]
    return (
        " ".join([*(str(n) for n in shown[:3]), *(["..."] if len(shown) > 3 else []), *(f"{n}?" for n in claimed[:2])])
        or "NONE"
    )


def _draw_requirements(console: Console, results: Sequence[Judged]) -> None:
    run = [(number, result) for number, result in enumerate(results, 1) if not result.errors]
    names = list(dict.fromkeys(row.requirement.id for _, result in run for row in result.rows))
    marks = {(row.requirement.id, number): MARKS[row.verdict.outcome] for number, result in run for row in result.rows}
    console.print()
    console.print("Requirement x scenario: P pass, F fail, . not exercised, ? undetermined", style="bold", markup=False)
    wide = max((len(name) for name in names), default=0)
    per_line = max(1, (console.width - wide - 4) // 3)
    for first in range(0, len(run), per_line):
        block = [number for number, _ in run[first : first + per_line]]
        console.print(" " * wide + "  " + "".join(f"{number:>3}" for number in block), soft_wrap=True)
        for name in names:
            cells = "".join(f"{marks.get((name, number), ' '):>3}" for number in block)
            console.print(f"{name:<{wide}}  {cells}", markup=False, soft_wrap=True)
