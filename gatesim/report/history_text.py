"""What the store keeps, and two sweeps of it row by row, for a person."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from gatesim.report import against
from gatesim.report.folded import printable
from gatesim.search.margins import Change, Compared
from gatesim.search.store import Head, Kept, Kind, Listed

if TYPE_CHECKING:
    from rich.console import Console


def draw_list(console: Console, listed: Sequence[Listed]) -> None:
    """A line each, in the order in which they were begun."""
    for one in listed:
        head = one.head
        rows = "rows" if head.kind is Kind.SWEEP else "scenarios"
        cut = "" if one.ended else ", did not end"
        said = (f"{head.name}: {head.kind.value} of {head.about}, {head.saved or 'day unknown'}, {_seed(head)}, "
                f"gatesim {head.version}, {one.rows} of {head.wanted} {rows}{cut}")
        console.print(printable(said), markup=False, soft_wrap=True)
    if not listed:
        console.print("nothing is kept yet")


def _seed(head: Head) -> str:
    return "seeds of the files" if head.seed is None else f"seed {head.seed}"


def _heads(console: Console, old: Kept, new: Kept) -> None:
    """What is compared with what."""
    console.print(printable(f"{old.head.name} against {new.head.name}"), style="bold", markup=False, soft_wrap=True)
    for one in (old, new):
        if not one.ended:
            console.print(printable(f"{one.head.name} did not end: {len(one.rows)} of {one.head.wanted}"),
                          style="bold yellow", markup=False, soft_wrap=True)
    if old.head.site_sha256 != new.head.site_sha256:
        console.print("The site changed in between.")
    if (old.head.version, old.head.seed) != (new.head.version, new.head.seed):
        console.print(f"gatesim {old.head.version}, {_seed(old.head)}; then gatesim {new.head.version}, "
                      f"{_seed(new.head)}", markup=False, soft_wrap=True)


def draw_checks(console: Console, old: Kept, new: Kept, found: Compared, percent: float) -> None:
    """Two checks, verdict by verdict."""
    _heads(console, old, new)
    against.draw(console, old.head, found, percent)


def draw_sweeps(console: Console, old: Kept, new: Kept, found: Sequence[Change], share: float) -> None:
    """Two sweeps, row by row."""
    _heads(console, old, new)
    for one in found:
        mark = "worse " if one.is_worse(share) else "      "
        said = f"{mark}{', '.join(one.key)}: {_said(one.before)} -> {_said(one.after)}"
        console.print(printable(said), markup=False, soft_wrap=True)
    same = len(new.rows) - sum(one.after is not None for one in found)
    console.print(f"{same} rows are the same, {sum(one.is_worse(share) for one in found)} are worse")


def _said(row: dict[str, Any] | None) -> str:
    if row is None:
        return "no such row"
    margin = "" if row["margin_us"] is None else f", margin {row['margin_us'] / 1000:.3f} ms"
    return f"{row['outcome']}{margin}, {row['coverage']}"
