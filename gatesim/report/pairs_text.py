"""Second faults for people: each ordered pair, and those that are graver than each fault alone."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table
from rich.text import Text

from gatesim.search.ground import move_title
from gatesim.search.moments import Coverage
from gatesim.search.pairs import Paired, PairRow


def draw(console: Console, paired: Paired) -> None:
    """The pairs of a sweep."""
    console.print()
    console.print(Text("Second faults: the first one, then the other at every moment that counts", style="bold"))
    for way in dict.fromkeys((row.direction, row.leaf) for row in paired.rows):
        console.print()
        console.print(Text(move_title(*way), style="bold"))
        console.print(_table([row for row in paired.rows if (row.direction, row.leaf) == way]))
    graver = [row for row in paired.rows if row.graver]
    if graver:
        console.print()
        console.print(Text("Residual risk: graver than each of the two alone", style="bold"))
        for row in graver:
            why = row.worst.why if row.worst is not None else ""
            whose = move_title(row.direction, row.leaf)
            console.print(f"  {_first(row)}, then {_then(row)}, {whose}: {row.outcome.value}"
                          f"{', ' + why if why else ''}; alone {row.first.value} and {row.second.value}")
    exact = sum(row.coverage is Coverage.EXACT for row in paired.rows)
    incomplete = sum(row.coverage is Coverage.INCOMPLETE for row in paired.rows)
    console.print()
    console.print(f"{len(paired.rows)} pairs: {exact} exact, {len(paired.rows) - exact - incomplete} sampled, "
                  f"{incomplete} incomplete; {len(graver)} graver than each fault alone")
    if paired.missing:
        console.print(f"{paired.missing} pairs were not made: what is not here is not known")


def _first(row: PairRow) -> str:
    return f"{row.fault}, {row.device}"


def _then(row: PairRow) -> str:
    return f"{row.then}, {row.then_device}" if row.then_device else row.then


def _table(rows: list[PairRow]) -> Table:
    table = Table(box=None, padding=(0, 1, 0, 0), show_edge=False, header_style="bold")
    table.add_column("fault", min_width=18, overflow="fold")
    table.add_column("then", min_width=18, overflow="fold")
    for title in ("when", "outcome", "worst", "margin", "coverage", "runs"):
        table.add_column(title, justify="right" if title in ("worst", "margin", "runs") else "left", no_wrap=True)
    for row in rows:
        measured = None if row.worst is None else row.worst.measured
        limit = None if row.worst is None else row.worst.limit
        margin = None if measured is None or limit is None else limit - measured
        when = row.when.value.removeprefix("during the ").removesuffix(" first")
        table.add_row(_first(row), _then(row), when, row.outcome.value + (" !" if row.graver else ""), _ms(measured),
                      _ms(margin), row.coverage.value, str(row.runs))
    return table


def _ms(us: int | None) -> str:
    return "-" if us is None else f"{us / 1000:.3f}"
