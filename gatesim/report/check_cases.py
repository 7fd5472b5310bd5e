"""The verdicts of many scenarios as cases: one for each expectation, and one for all that must not fail."""

from __future__ import annotations

from collections.abc import Sequence

from gatesim import __version__
from gatesim.report.cases import NOT_JUDGED, Case, Cases, Finding, Note, Place, Rule, Suite, Weight, command_line
from gatesim.report.cases import facts_of as _facts
from gatesim.report.check_text import counted, said
from gatesim.report.figures import figures, instant, quantity
from gatesim.report.judged import Judged, JudgedRow, residual_risk
from gatesim.requirements.requirement import Requirement
from gatesim.requirements.verdict import Outcome

OTHERS = "others"
"""The case of what a scenario does not list: none of it may fail."""
READS = "reads"
"""The only case of a file in which nothing is expected, or that can't be read."""


def check_cases(
    results: Sequence[Judged],
    seed: int | None,
    sites: Sequence[str] = (),
    options: Sequence[str] = (),
    more: Sequence[Suite] = (),
    notes: Sequence[Note] = (),
) -> Cases:
    """`sites`: the site files that were read and are sound; `options`: the logic under test, as on the command line;
    `more` and `notes`: what else was found."""
    suites = [_suite(result, options) for result in results]
    suites += [Suite(file, file, (), (Case(READS),)) for file in sites]
    residual = [
        Note(
            f"residual risk: {kind.fault}",
            (f"{kind.title}; found {kind.found.value}: nothing finds it in service", f"in {', '.join(files)}"),
            Place(files[0]),
        )
        for kind, files in residual_risk(results)
    ]
    return Cases("check", __version__, (*suites, *more), (*residual, *notes), counted(results, seed))


def _suite(result: Judged, options: Sequence[str]) -> Suite:
    if result.errors:
        return Suite(result.file, result.file, _facts([("title", result.title), ("seed", result.seed)]),
                     (Case(READS, _broken(result)),))
    listed = [row for row in result.rows if row.expected is not None]
    others = [row for row in result.rows if row.expected is None]
    facts = _facts([
        ("title", result.title), ("seed", result.seed), ("trace_sha256", result.sha256),
        *((outcome.value, _ids(result.rows, outcome)) for outcome in (Outcome.NOT_EXERCISED, Outcome.UNDETERMINED)),
        ("residual risk", ", ".join(kind.fault for kind in result.residual)),
    ])
    cases = [Case(row.requirement.id, _finding(result, row, options), _row_facts(result, row)) for row in listed]
    cases.append(Case(
        OTHERS,
        tuple(finding for row in others for finding in _finding(result, row, options)),
        _facts([("seed", result.seed), *((outcome.value, _ids(others, outcome)) for outcome in Outcome)]),
    ))
    return Suite(result.file, result.file, facts, tuple(cases))


def _ids(rows: Sequence[JudgedRow], outcome: Outcome) -> str:
    return ", ".join(row.requirement.id for row in rows if row.verdict.outcome is outcome)


def _broken(result: Judged) -> tuple[Finding, ...]:
    again = command_line("gatesim", "check", result.file)
    return tuple(
        Finding(Weight.ERROR, NOT_JUDGED, f"not judged: {trouble.message}",
                Place(trouble.file, trouble.line, trouble.column),
                (said(trouble), "Nothing of this file was judged.", f"Run it again: {again}"), result.seed)
        for trouble in result.errors
    )


def _finding(result: Judged, row: JudgedRow, options: Sequence[str]) -> tuple[Finding, ...]:
    """What is wrong with a row, if anything is."""
    if not row.differs:
        return ()
    requirement, got = row.requirement, row.verdict
    expected = row.expected or "no failure (not listed)"
    again = command_line("gatesim", "run", result.file, "--seed", str(result.seed), *options)
    lines = [
        f"Scenario: {result.title}",
        _measured(row), got.reason, row.why, requirement.sentence,
        *(f"at {instant(proof.at)}  {proof.who}: {proof.sentence}" for proof in row.evidence),
        f"Seed {result.seed}. Limits: {row.profile}.",
        f"Run it again: {again}",
    ]
    kept = tuple(dict.fromkeys(line for line in lines if line))
    title = f"{requirement.id}: expected {expected}, got {_got(row)}"
    return (Finding(Weight.FAILURE, rule_of(requirement), title, Place(result.file, *row.place), kept, result.seed),)


def rule_of(requirement: Requirement) -> Rule:
    """A requirement as the rule behind a finding."""
    source = requirement.source
    where = ", ".join(part for part in (source.document, source.clause) if part)
    standing = source.standing.value
    return Rule(requirement.id, requirement.sentence, where if where == standing else f"{where} ({standing})")


def _got(row: JudgedRow) -> str:
    return row.verdict.outcome.value + (f": {row.verdict.failure}" if row.verdict.failure else "")


def _measured(row: JudgedRow) -> str:
    name = row.requirement.quantity
    told = figures(row.verdict.figures, row.requirement.measure)
    return f"{name}: {told}" if name and told else told


def _row_facts(result: Judged, row: JudgedRow) -> tuple[tuple[str, str], ...]:
    got, measure = row.verdict, row.requirement.measure
    named = zip(got.figures._fields, got.figures, strict=True)
    return _facts([
        ("expected", row.expected), ("outcome", _got(row)), ("quantity", row.requirement.quantity),
        *((name, None if value is None else quantity(value, measure)) for name, value in named),
        ("profile", row.profile), ("seed", result.seed), ("reason", got.reason),
    ])
