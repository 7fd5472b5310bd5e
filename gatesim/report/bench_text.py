"""What came of a scenario with a controller on the wire: its verdicts, how late we were, how often it looked."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, NamedTuple

from gatesim import __version__
from gatesim.bench.wire.live import Spread
from gatesim.bench.wire.session import OnWire, Part
from gatesim.report.check_json import scenario_object
from gatesim.report.check_text import draw_result
from gatesim.report.figures import instant
from gatesim.report.judged import Judged
from gatesim.report.run_text import draw_verdicts
from gatesim.requirements.requirement import Run
from gatesim.requirements.verdict import Measure, Outcome

if TYPE_CHECKING:
    from rich.console import Console

FORMAT = "gatesim-bench/1"


class Reaction(NamedTuple):
    """A measured reaction time, and by how much it is uncertain: one poll and our own lateness, both at their worst.

    Durations in us of the run's own time.
    """

    requirement: str
    measured: int
    poll_median: int
    uncertain: int


def reactions(done: OnWire) -> Iterator[Reaction]:
    """Every reaction time, with the poll interval of the run that it is from."""
    from gatesim.requirements.catalogue import requirements

    known, speed = requirements(), done.rules.speed
    for row in done.result.rows:
        got = row.verdict
        if known[row.requirement].measure is not Measure.US or got.figures.measured is None:
            continue
        part = done.parts[row.section]
        if part.polls.number and got.outcome in (Outcome.PASS, Outcome.FAIL):
            worst = ((part.polls.most or 0) + (part.lateness.most or 0)) * speed
            yield Reaction(row.requirement, got.figures.measured, round((part.polls.median or 0) * speed), round(worst))


def outcome(judged: Judged, done: OnWire) -> str:
    """The outcome of the whole."""
    if done.ending is not None:
        return done.ending.what
    return "undetermined" if any(part.too_late for part in done.parts) else judged.outcome


def draw(console: Console, judged: Judged, done: OnWire, loud: bool) -> None:
    """Print it."""
    draw_result(console, judged, loud)
    console.print()
    draw_verdicts(console, judged, loud)
    found = list(reactions(done))
    if found:
        _draw_reactions(console, found)
    _draw_timing(console, done)
    console.print()
    if done.ending is not None:
        when = f"{done.ending.what.upper()} at {instant(done.ending.at)}"
        console.print(f"{when}: {done.ending.why}. What was judged before stands.", style="bold red", markup=False,
                      soft_wrap=True)
    console.print(f"Outcome: {outcome(judged, done)}. A verdict is about the model, its figures and this controller; "
                  f"nothing is said of a gate that stands somewhere.", style="bold", markup=False, soft_wrap=True)


def _ms(duration: float | None) -> str:
    return "-" if duration is None else f"{duration / 1000:.1f} ms"


def _draw_reactions(console: Console, found: list[Reaction]) -> None:
    from rich.table import Table

    table = Table(box=None, pad_edge=False, title="Reaction times on the wire", title_justify="left",
                  title_style="bold")
    table.add_column("requirement")
    for column in ("measured", "poll interval", "uncertain by up to"):
        table.add_column(column, justify="right")
    for one in found:
        table.add_row(one.requirement, _ms(one.measured), _ms(one.poll_median), _ms(one.uncertain))
    console.print()
    console.print(table)


def _draw_timing(console: Console, done: OnWire) -> None:
    from rich.table import Table

    table = Table(box=None, pad_edge=False, title="Of the wall clock", title_justify="left", title_style="bold")
    table.add_column("run")
    for column in ("late: median", "99 %", "most", "poll: median", "99 %", "most"):
        table.add_column(column, justify="right")
    for part in done.parts:
        table.add_row(_name(part), *(_ms(one) for spread in (part.lateness, part.polls) for one in spread[1:]))
    console.print()
    console.print(table)
    traffic = done.traffic
    console.print(f"{done.rules.lateness / 1000:g} ms late is allowed; {traffic.requests} requests, "
                  f"{traffic.exceptions} of them refused; {traffic.connections} connections, {traffic.broken} of them "
                  f"cut, {traffic.turned_away} turned away; speed {done.rules.speed:g}", markup=False, soft_wrap=True)


def _name(part: Part) -> str:
    touch = "" if part.run is Run.WHOLE else f", touch {part.touch}"
    return f"{part.run.value}{touch}" + (" TOO LATE" if part.too_late else "")


def as_json(judged: Judged, done: OnWire) -> str:
    """`gatesim-bench/1`.  Durations in us, `timing` of the wall clock, `reactions` of the run's own time."""
    ending = done.ending
    said: dict[str, Any] = {
        "format": FORMAT,
        "version": __version__,
        "outcome": outcome(judged, done),
        "ended": None if ending is None else {"at_us": ending.at, "what": ending.what, "why": ending.why},
        "power_cycles": done.power_cycles,
        "scenario": scenario_object(judged),
        "reactions": [{"requirement": one.requirement, "measured_us": one.measured,
                       "poll_median_us": one.poll_median, "uncertain_us": one.uncertain} for one in reactions(done)],
        "timing": {
            "speed": done.rules.speed, "late_allowed_us": done.rules.lateness,
            "runs": [{"run": part.run.value, "touch": part.touch or None, "too_late": part.too_late,
                      "late": _spread(part.lateness), "poll": _spread(part.polls)} for part in done.parts]},
        "wire": {name: getattr(done.traffic, name)
                 for name in ("requests", "exceptions", "connections", "broken", "turned_away")},
    }
    return json.dumps(said, indent=1, ensure_ascii=False) + "\n"


def _spread(one: Spread) -> dict[str, int | None]:
    return {"count": one.number, "median_us": one.median, "p99_us": one.p99, "max_us": one.most}
