"""A sweep for people: each fault's worst case, a strip of margins over the moments, residual risks apart."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table
from rich.text import Text

from gatesim.report import pairs_text, ways_text
from gatesim.search.classes import Class
from gatesim.search.contacts import Latent
from gatesim.search.ground import move_title
from gatesim.search.moments import Coverage
from gatesim.search.pairs import Paired
from gatesim.search.sweep import Row, Swept
from gatesim.search.ways import Ways

STRIP = 10
"""Columns of the strip of margins."""
_BARS = "▁▂▃▄▅▆▇█"
_STYLE = {
    Class.UNSAFE: "bold red", Class.LATE: "red", Class.UNDETERMINED: "yellow", Class.LATENT: "yellow",
    Class.NUISANCE: "yellow", Class.SAFE: "green", Class.NO_EFFECT: "dim",
}


def draw(console: Console, swept: Swept, paired: Paired | None = None, ways: Ways | None = None) -> None:
    """The whole result."""
    console.print(
        Text(f"Sweep of {swept.site}, seed {swept.seed}: each row over all moments of its window", style="bold"))
    console.print("Worst reaction and its margin in ms, and the moment of the fault that gives it. In the strip the "
                  "moments run from left to right; a high bar is a small margin, '.' no reaction measured.")
    for way in dict.fromkeys((row.direction, row.leaf) for row in swept.rows):
        for phase in dict.fromkeys(row.phase for row in swept.rows if (row.direction, row.leaf) == way):
            rows = [row for row in swept.rows if (row.direction, row.leaf, row.phase) == (*way, phase)]
            console.print()
            console.print(Text(f"{move_title(*way)}, {phase.value}", style="bold"))
            console.print(_table(rows))
    _residual(console, swept)
    if paired is not None:
        pairs_text.draw(console, paired)
    if ways is not None:
        ways_text.draw(console, ways)
    _summary(console, swept)


def _table(rows: list[Row]) -> Table:
    table = Table(box=None, padding=(0, 1, 0, 0), show_edge=False, header_style="bold")
    table.add_column("fault, device", min_width=30, overflow="fold")
    for title in ("outcome", "worst", "margin", "at", "coverage", "runs", "margins"):
        left = title in ("outcome", "coverage", "margins")
        table.add_column(title, justify="left" if left else "right", no_wrap=True)
    for row in rows:
        worst = row.worst
        measured = None if worst is None else worst.measured
        limit = None if worst is None else worst.limit
        margin = None if measured is None or limit is None else limit - measured
        name = f"{row.fault}, {row.device}" + ("" if row.duration == "permanent" else f" ({row.duration})")
        mark = " !" if row.differs else ""
        table.add_row(name, Text(row.outcome.value + mark, style=_STYLE[row.outcome]), _ms(measured), _ms(margin),
                      "" if worst is None else f"{worst.at / 1e6:.6f} s", row.coverage.value, str(row.runs), strip(row))
    return table


def strip(row: Row) -> str:
    """The margin against the moment, drawn in columns: the smaller the margin in a column, the higher its bar."""
    first, last = row.window
    limit = max([row.worst.limit or 0] if row.worst is not None else [0])
    columns: list[float | None] = [None] * STRIP
    for moment, margin in row.profile:
        if margin is None or limit <= 0:
            continue
        k = min(STRIP - 1, (moment - first) * STRIP // max(1, last - first))
        share = 1 - max(0.0, min(1.0, margin / limit))
        columns[k] = share if columns[k] is None else max(columns[k] or 0.0, share)
    return "".join("." if share is None else _BARS[min(7, int(share * 8))] for share in columns)


def _ms(us: int | None) -> str:
    return "-" if us is None else f"{us / 1000:.3f}"


def _residual(console: Console, swept: Swept) -> None:
    rows = [row for row in swept.rows if row.residual]
    if not rows:
        return
    console.print()
    console.print(
        Text("Residual risk: unannounced, and a contact meanwhile was not met by every means", style="bold"))
    for row in rows:
        said = "" if row.latent is None else _contacts(row.latent)
        late = f" ({row.shows_late})" if row.shows_late else ""
        whose = move_title(row.direction, row.leaf)
        console.print(f"  {row.fault}, {row.device}, {whose}: found {row.found.value}{late}; {said}")


def _contacts(latent: Latent) -> str:
    """What contacts showed, by whatever says most."""
    if latent.coverage is Coverage.SAMPLED and not any(latent.missed_us[k] > latent.tried for k in range(3)):
        return (f"of {latent.tried} contacts the edge missed {latent.edge}, the force sensing {latent.force}, "
                f"the gate as a whole {latent.whole}")
    edge, force, gate = (f"{us / 1e6:.6f} s" for us in latent.missed_us)
    return (f"{latent.coverage.value}: contacts are missed by the edge at moments that make {edge}, by the force "
            f"sensing {force}, by the gate as a whole {gate}; no "
            f"contact known to be met by all for {latent.unprotected / 1e6:.6f} s at the longest")


def _summary(console: Console, swept: Swept) -> None:
    summary = swept.summary
    console.print()
    counts = ", ".join(f"{count} {one.value}" for one, count in summary.outcomes.items() if count)
    console.print(Text(f"{len(swept.rows)} rows: {counts}", style="bold"))
    exact = sum(row.coverage is Coverage.EXACT for row in swept.rows)
    incomplete = sum(row.coverage is Coverage.INCOMPLETE for row in swept.rows)
    console.print(f"{exact} rows exact, {len(swept.rows) - exact - incomplete} sampled, {incomplete} incomplete; "
                  f"{summary.runs} runs in {summary.seconds:.1f} s")
    met = [row.latent for row in swept.rows if row.latent is not None]
    if met:
        counts = ", ".join(f"{sum(one.coverage is coverage for one in met)} {coverage.value}" for coverage in Coverage)
        console.print(f"contacts while a fault without effect was there, of {len(met)} rows: {counts}")
    if summary.missing:
        console.print(f"{summary.missing} rows were not made: what is not here is not known")
    for row in swept.rows:
        if row.differs:
            why = row.worst.why if row.worst is not None else ""
            whose = move_title(row.direction, row.leaf)
            console.print(Text(f"! {row.fault}, {row.device}, {whose}: {row.outcome.value}, which its "
                               f"catalogue entry does not let expect{': ' + why if why else ''}", style="bold"))
    if swept.unused:
        console.print(f"The runs used {summary.transitions_reached} of {summary.transitions} transitions and "
                      f"{summary.states_reached} of {summary.states} states of the reference controller.")
    console.print(
        "A verdict is about the model and its figures. It is no statement about a gate that stands somewhere.")
