"""Verdicts as the templates take them: every cell a text."""

from __future__ import annotations

from typing import NamedTuple

from gatesim.report.figures import instant, margin, quantity
from gatesim.report.judged import Judged, JudgedRow, Proof
from gatesim.requirements.requirement import Run
from gatesim.requirements.verdict import Outcome


class Shown(NamedTuple):
    """One verdict; `used`: what it took of its limit, in per cent (None where that says nothing)."""

    id: str
    alone: str
    sentence: str
    quantity: str
    outcome: str
    failure: str
    differs: bool
    expected: str
    measured: str
    limit: str
    margin: str
    used: float | None
    why: str
    line: int
    proofs: tuple[tuple[int, str, str, str], ...]
    """Each event that proves it: instant (us), the same as text, who, what."""


def rows_of(result: Judged) -> list[Shown]:
    """The verdicts that were exercised, those that differ first, then by outcome."""
    rank = {Outcome.FAIL: 0, Outcome.UNDETERMINED: 1, Outcome.PASS: 2, Outcome.NOT_EXERCISED: 3}
    rows = [row for row in result.rows if row.differs or row.verdict.outcome is not Outcome.NOT_EXERCISED]
    return [_shown(row) for row in sorted(rows, key=lambda row: (not row.differs, rank[row.verdict.outcome]))]


def idle(result: Judged) -> list[str]:
    """Ids of what the run gave no occasion for."""
    return [row.requirement.id for row in result.rows if row.verdict.outcome is Outcome.NOT_EXERCISED]


def _shown(row: JudgedRow) -> Shown:
    requirement, got = row.requirement, row.verdict
    measured, limit, left = got.figures
    used = None
    if measured is not None and limit is not None and limit > 0 and not requirement.least and measured >= 0:
        used = round(measured / limit * 100, 2)
    return Shown(
        requirement.id, "" if requirement.run is Run.WHOLE else requirement.run.value, requirement.sentence,
        requirement.quantity, got.outcome.value, got.failure or "", row.differs, row.expected or "",
        "" if measured is None else quantity(measured, requirement.measure),
        "" if limit is None else ("at least " if requirement.least else "") + quantity(limit, requirement.measure),
        "" if left is None else margin(left, requirement.measure), used,
        "; ".join(dict.fromkeys(part for part in (got.reason, row.why) if part)), row.place[0],
        tuple(_proof(one) for one in row.evidence))


def _proof(one: Proof) -> tuple[int, str, str, str]:
    return round(one.at), instant(one.at), one.who, one.sentence
