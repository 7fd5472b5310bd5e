"""What a set of scenarios catches, for people."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from gatesim.search.doubles.catalogue import doubles
from gatesim.search.mutants import mutants
from gatesim.search.trial import Fate, Result, Tried

SHOWN = 40
"""Mutants listed at most."""


def draw(console: Console, result: Result) -> None:
    """Which doubles are caught and by what; which are not; the mutants apart; the sum."""
    console.print(Text(f"Defective doubles against {_count(result.scenarios, 'scenario')}", style="bold"))
    wide = max((len(one.name) for one in result.doubles), default=0)
    for fate, style in ((Fate.CAUGHT, "green"), (Fate.EQUIVALENT, "dim"), (Fate.MISSED, "bold red")):
        rows = [one for one in result.doubles if one.fate is fate]
        if rows:
            console.print()
            console.print(Text(f"{fate.value}: {len(rows)}", style=style))
        for one in rows:
            _row(console, one, wide)
    if result.drawn:
        _mutants(console, result)
    console.print()
    _sum(console, result)


def _row(console: Console, one: Tried, wide: int) -> None:
    double = doubles()[one.name]
    said = {Fate.CAUGHT: one.by, Fate.MISSED: double.bug, Fate.EQUIVALENT: one.why}[one.fate]
    console.print(f"  {one.name:<{wide}}  {double.row:<3}  {said}", markup=False, soft_wrap=True)


def _mutants(console: Console, result: Result) -> None:
    what = {one.name: one.what for one in mutants().made}
    missed = [one for one in result.mutants if one.fate is Fate.MISSED]
    caught, run = len(result.mutants) - len(missed), len(result.mutants)
    score = f", mutation score {100 * caught / run:.1f} %" if run else ""
    console.print()
    console.print(Text("Mutants of the reference controller", style="bold"))
    console.print(f"{caught} of {run} caught{score}; not run: {result.drawn - run}; refused by the table's own check "
                  f"before anything runs: {len(result.refused)}", markup=False, soft_wrap=True)
    for one in missed[:SHOWN]:
        why = f" ({one.why})" if one.why else ""
        console.print(f"  missed: {one.name}: {what[one.name]}{why}", markup=False, soft_wrap=True)
    if len(missed) > SHOWN:
        console.print(f"  ... and {len(missed) - SHOWN} more; `--format json` has them all", markup=False)


def _sum(console: Console, result: Result) -> None:
    caught, missed = result.count(Fate.CAUGHT), result.count(Fate.MISSED)
    equal = result.count(Fate.EQUIVALENT)
    if result.unsound:
        console.print(f"Left out, not as expected with the reference itself: {_count(len(result.unsound), 'scenario')}",
                      markup=False)
    if not result.doubles:
        console.print("No double was run: nothing is shown about these scenarios.", markup=False)
        return
    said = f"These scenarios catch {caught} of {caught + missed} defective doubles"
    said += f"; {missed} would pass as good logic." if missed else "."
    if equal:
        said += f" {equal} more cannot be told from the reference."
    console.print(Text(said, style="bold" if missed else ""))
    if result.missing:
        console.print(f"Not run: {result.missing}.", markup=False)
    console.print("A bug that is caught here is one that somebody thought of.", markup=False)


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
