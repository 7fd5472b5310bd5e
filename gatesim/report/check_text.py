"""The verdicts of many scenarios for a person: a line each, what differs in full, the residual risk, the count."""

from __future__ import annotations

from collections.abc import Sequence

from gatesim.errors import Trouble
from gatesim.report.figures import figures, instant, margin, quantity
from gatesim.report.judged import Judged, JudgedRow, closest, residual_risk, summary
from gatesim.report.plain import Page
from gatesim.requirements.requirement import Run

STYLES = {"as expected": "", "differs": "bold red", "error": "bold magenta"}
SHOWN = {"as expected": "as expected", "differs": "DIFFERS", "error": "ERROR"}


def draw(console: Page, results: Sequence[Judged], seed: int | None, loud: bool) -> None:
    """Print the report.  `seed`: the one from the command line; `loud` shows every row, not only those that differ."""
    for result in results:
        draw_result(console, result, loud)
    draw_residual(console, results)
    console.print()
    console.print(counted(results, seed), style="bold", markup=False, soft_wrap=True)
    console.print(
        "A verdict is about the model and its figures. It is no statement about a gate that stands somewhere.",
        markup=False,
        soft_wrap=True,
    )


def counted(results: Sequence[Judged], seed: int | None) -> str:
    """How many are as expected, and with which seeds, in one line."""
    counts = summary(results)
    told = f"{counts.as_expected} as expected, {counts.differs} differ, {_errors(counts.error)}"
    return f"{told}; {_seeds(results, seed)}"


def draw_result(console: Page, result: Judged, loud: bool) -> None:
    """One scenario."""
    console.print(
        f"{SHOWN[result.outcome]:<12}", style=STYLES[result.outcome], end="", markup=False, soft_wrap=True
    )
    console.print(f" {result.file}", markup=False, soft_wrap=True)
    if result.title:
        console.print(f"{'':<13}{result.title}{_closest(result)}", markup=False, soft_wrap=True)
    for trouble in result.errors:
        console.print(f"    {said(trouble)}", markup=False, soft_wrap=True)
    for row in result.rows:
        if row.differs or loud:
            draw_row(console, row)


def said(trouble: Trouble) -> str:
    """A trouble as text; one that has no place in the file says only the file."""
    return str(trouble) if trouble.line else f"{trouble.file}: {trouble.message}"


def draw_row(console: Page, row: JudgedRow) -> None:
    """One verdict with what was expected, its figures and what proves it."""
    requirement, got = row.requirement, row.verdict
    outcome = got.outcome.value + (f": {got.failure}" if got.failure else "")
    alone = "" if requirement.run is Run.WHOLE else f" ({requirement.run.value})"
    console.print(f"    {requirement.id}{alone}: ", end="", markup=False, soft_wrap=True)
    line = f"expected {row.expected or 'no failure (not listed)'}, got {outcome}"
    console.print(line, style="bold" if row.differs else "", markup=False, soft_wrap=True)
    for text in (requirement.sentence, _measured(row), got.reason, row.why):
        if text:
            console.print(f"        {text}", markup=False, soft_wrap=True)
    for proof in row.evidence:
        console.print(
            f"        {instant(proof.at):>12}  {proof.who:<10}  {proof.sentence}", markup=False, soft_wrap=True
        )


def draw_residual(console: Page, results: Sequence[Judged]) -> None:
    """Fault kinds that nothing finds in service.  Never styled as passed."""
    kinds = residual_risk(results)
    if not kinds:
        return
    console.print()
    console.print("RESIDUAL RISK: faults in these scenarios that nothing finds in service", style="bold yellow",
                  markup=False, soft_wrap=True)
    for kind, files in kinds:
        many = f"{len(files)} scenarios" if len(files) > 1 else files[0]
        console.print(
            f"    {kind.fault}: {kind.title}; found {kind.found.value} ({many})", markup=False, soft_wrap=True
        )


def _measured(row: JudgedRow) -> str:
    said = figures(row.verdict.figures, row.requirement.measure)
    return f"{row.requirement.quantity}: {said}" if said and row.requirement.quantity else said


def _closest(result: Judged) -> str:
    row = closest(result.rows)
    if row is None:
        return ""
    got, measure = row.verdict.figures, row.requirement.measure
    assert got.margin is not None
    assert got.limit is not None
    return f"; closest: {margin(got.margin, measure)} of {quantity(got.limit, measure)}, {row.requirement.id}"


def _errors(number: int) -> str:
    return "1 error" if number == 1 else f"{number} errors"


def _seeds(results: Sequence[Judged], seed: int | None) -> str:
    if seed is not None:
        return f"seed {seed} for all"
    used = list(dict.fromkeys(result.seed for result in results if result.seed is not None))
    if not used:
        return "nothing ran"
    if len(used) == 1:
        return f"seed {used[0]}"
    return f"seeds from the files ({', '.join(str(number) for number in used[:6])}{', ...' if len(used) > 6 else ''})"
