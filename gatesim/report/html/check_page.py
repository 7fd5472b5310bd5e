"""The page of a check: every scenario with its verdicts, and every requirement with what came of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from gatesim.report.check_text import said
from gatesim.report.figures import margin, quantity
from gatesim.report.html.pages import link, page
from gatesim.report.html.rows import idle, rows_of
from gatesim.report.judged import Judged, closest, residual_risk, summary
from gatesim.requirements.verdict import Outcome


class _Of(NamedTuple):
    """A requirement over all scenarios."""

    id: str
    sentence: str
    counts: tuple[tuple[str, int], ...]
    differs: int
    closest: str
    where: int | None
    """The number of the scenario that came closest."""


def check_page(results: Sequence[Judged], seed: int | None, beside: str, output: str | None) -> str:
    """The whole page; `beside`: what else is compared, as text.  BadUsage where jinja2 is not installed."""
    files = [{
        "number": k, "result": one, "href": link(one.file, output), "rows": rows_of(one), "idle": idle(one),
        "errors": [said(trouble) for trouble in one.errors], "closest": _closest(one), "counts": _counts(one),
    } for k, one in enumerate(results)]
    return page("check", "Check of scenarios", None, files=files, counts=summary(results), seed=seed, beside=beside,
                requirements=_requirements(results), residual=residual_risk(results),
                outcomes=[one.value for one in Outcome])


def _closest(result: Judged) -> str:
    row = closest(result.rows)
    if row is None or row.verdict.figures.margin is None or row.verdict.figures.limit is None:
        return ""
    got, measure = row.verdict.figures, row.requirement.measure
    return f"{margin(got.margin or 0, measure)} of {quantity(got.limit or 0, measure)}, {row.requirement.id}"


def _counts(result: Judged) -> tuple[tuple[str, int], ...]:
    """How many verdicts of each outcome; those that there are."""
    outcomes = [row.verdict.outcome for row in result.rows]
    return tuple((one.value, outcomes.count(one)) for one in Outcome if one in outcomes)


def _requirements(results: Sequence[Judged]) -> list[_Of]:
    names = {row.requirement.id: row.requirement for result in results for row in result.rows}
    found = []
    for name, requirement in sorted(names.items()):
        mine = [(k, row) for k, result in enumerate(results) for row in result.rows if row.requirement.id == name]
        outcomes = [row.verdict.outcome for _, row in mine]
        best = closest(row for _, row in mine)
        where = next((k for k, row in mine if row is best), None)
        got = None if best is None else best.verdict.figures
        said_of = "" if got is None or got.margin is None or got.limit is None else (
            f"{margin(got.margin, requirement.measure)} of {quantity(got.limit, requirement.measure)}")
        found.append(_Of(name, requirement.sentence,
                         tuple((one.value, outcomes.count(one)) for one in Outcome if one in outcomes),
                         sum(row.differs for _, row in mine), said_of, where))
    return found
