"""What logic under test met, missed and never showed, for people."""

from __future__ import annotations

import os
from collections.abc import Iterable

from rich.console import Console
from rich.text import Text

from gatesim.search.conform import Conformance, Mark, Miss, Standing
from gatesim.search.laws import Laws
from gatesim.search.sweep import Row

STYLES = {Standing.MISSED: "bold red", Standing.NOT_EXERCISED: "yellow", Standing.MET: "green"}
SHOWN = 3
"""Places named for a requirement at most."""
LISTED = 20
"""Scenarios and rows listed at most."""


def draw(console: Console, result: Conformance, name: str, everything: bool) -> None:
    """Requirements, scenarios, sweep, random stories, table, and the sum."""
    console.print(Text(f"Conformance of {name}, at {result.site.name} (seed {result.seed})", style="bold"),
                  soft_wrap=True)
    for standing in Standing:
        _standing(console, result, standing, everything)
    _scenarios(console, result, everything)
    _sweep(console, result, everything)
    _laws(console, result.laws)
    _table(console, result)
    console.print()
    for death in result.deaths:
        console.print(Text(f"It died: {death}", style="bold red"), soft_wrap=True)
    console.print(Text(_sum(result), style="bold red" if result.missed else "bold"), soft_wrap=True)
    console.print("A verdict is about the model and its figures. It is no statement about a gate that stands "
                  "somewhere.", soft_wrap=True)


def _say(console: Console, text: str) -> None:
    console.print(text, markup=False, soft_wrap=True)


def _standing(console: Console, result: Conformance, standing: Standing, everything: bool) -> None:
    marks = result.standing(standing)
    console.print()
    console.print(Text(f"Requirements {standing.value}: {len(marks)} of {len(result.marks)}", style=STYLES[standing]))
    wide = max((len(mark.requirement) for mark in marks), default=0)
    for mark in marks:
        _say(console, f"  {mark.requirement:<{wide}}  {_about(mark, everything)}")


def _about(mark: Mark, everything: bool) -> str:
    if mark.standing is Standing.MET:
        return f"{_count(mark.passed, 'pass', 'passes')}"
    failed = [miss for miss in mark.misses if miss.failure]
    absent = [miss for miss in mark.misses if not miss.failure]
    said = []
    if failed:
        said.append(f"fails in {_places(failed, everything)}")
    if absent:
        said.append(f"not shown in {_places(absent, everything)}")
    if mark.why:
        said.append(mark.why)
    return "; ".join(said) or "no run gave it an occasion"


def _places(misses: Iterable[Miss], everything: bool) -> str:
    every = [f"{short(miss.where)} ({miss.failure})" if miss.failure else short(miss.where) for miss in misses]
    most = len(every) if everything else SHOWN
    more = f" and {len(every) - most} more" if len(every) > most else ""
    return ", ".join(every[:most]) + more


def short(file: str) -> str:
    """A scenario's name without folder and what all end with."""
    return os.path.basename(file).removesuffix(".scenario.yaml")


def _scenarios(console: Console, result: Conformance, everything: bool) -> None:
    good = sum(one.as_expected for one in result.played)
    console.print()
    console.print(Text(f"Scenarios: {good} of {len(result.played)} as expected", style="bold"))
    differ = [one for one in result.played if not one.as_expected]
    for one in differ[: None if everything else LISTED]:
        _say(console, f"  {'DIED   ' if one.died else 'DIFFERS'}  {short(one.file)}: {one.died or one.title}")
    if len(differ) > LISTED and not everything:
        _say(console, f"  ... and {len(differ) - LISTED} more (-v lists them)")


def _sweep(console: Console, result: Conformance, everything: bool) -> None:
    swept = result.swept
    console.print()
    if swept.absent:
        _say(console, f"Sweep of {result.site.name}: not exercised: {swept.absent}")
        return
    runs = sum(row.runs for row in swept.rows)
    console.print(Text(f"Sweep of {result.site.name}: {_count(len(swept.rows), 'row')}, {_count(runs, 'run')}; "
                       f"{len(swept.missed)} missed", style="bold"))
    for row in swept.missed[: None if everything else LISTED]:
        _say(console, f"  {_row(row)}")
    if len(swept.missed) > LISTED and not everything:
        _say(console, f"  ... and {len(swept.missed) - LISTED} more (-v lists them)")
    if swept.excused:
        _say(console, f"  The reference comes to the same in {_count(len(swept.excused), 'row')} more: the site's own.")
    if swept.partial:
        _say(console, f"  In part only, for want of time: {_count(swept.partial, 'row')}.")
    if swept.unreached:
        _say(console, f"  Not reached in time: {_count(swept.unreached, 'row')}; that is no pass.")


def _row(row: Row) -> str:
    why = "" if row.worst is None else f" ({row.worst.why})"
    return f"{row.fault} at {row.device}, {row.direction.value}: {row.outcome.value}{why}"


def _laws(console: Console, laws: Laws) -> None:
    console.print()
    if laws.absent:
        _say(console, f"Random stories: not exercised: {laws.absent}")
        return
    console.print(Text(f"Random stories: {laws.stories} judged; {_count(len(laws.broken), 'requirement')} broken",
                       style="bold"))
    for one in laws.broken:
        said = "; ".join(" ".join(str(value) for name, value in step.items() if name != "do" or "command" not in step)
                         for step in one.tree["steps"])
        _say(console, f"  {one.failure.requirement}: {one.failure.failure}, in {_count(len(one.tree['steps']), 'step')}"
                      f": {said}")
    if laws.excused:
        _say(console, f"  In {laws.excused} more the reference fails the same: the site's or the fault's own.")
    if laws.ended:
        _say(console, "  Time was over: there may be more to find, and a story may be longer than it need be.")


def _table(console: Console, result: Conformance) -> None:
    console.print()
    table = result.table
    if isinstance(table, str):
        _say(console, f"Table of the controller: not exercised: {table}")
        return
    rows, states = len(table.machine.table.rows), len(table.machine.modes)
    console.print(Text(f"Table of the controller: {len(table.states)} of {states} states, {len(table.rows)} of {rows} "
                       f"transitions reached by the scenarios", style="bold"))
    unreachable = table.findings
    if unreachable.wrong:
        _say(console, "  A state cannot be reached, or cannot be left: `gatesim coverage` says which.")
    if not table.questions:
        _say(console, "  The controller never asked its table: nothing is counted.")


def _sum(result: Conformance) -> str:
    if not result.missed:
        never = _count(len(result.standing(Standing.NOT_EXERCISED)), "requirement")
        unreached = result.swept.unreached
        rest = f", {_count(unreached, 'row')} of the sweep not reached" if unreached else ""
        return f"Nothing was missed; {never} never exercised{rest}."
    parts = []
    if marks := result.standing(Standing.MISSED):
        parts.append(_count(len(marks), "requirement"))
    if unshown := [mark for mark in result.standing(Standing.NOT_EXERCISED) if mark.misses]:
        parts.append(f"{_count(len(unshown), 'requirement')} asked for and never shown")
    if result.swept.missed:
        parts.append(_count(len(result.swept.missed), "row") + " of the sweep")
    if not any(one.moved for one in result.played):
        parts.append("every motion: the gate was never moved by an order")
    if not isinstance(result.table, str) and result.table.findings.wrong:
        parts.append("a sound table")
    if result.deaths:
        parts.append("a run to the end")
    return f"Missed: {', '.join(parts)}."


def _count(number: int, one: str, many: str = "") -> str:
    return f"{number} {one if number == 1 else many or one + 's'}"
