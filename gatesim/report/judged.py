"""One scenario's result as every renderer takes it: small, without the run's events."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from gatesim.errors import Trouble
from gatesim.events import FoundBy
from gatesim.report.cells import Cell
from gatesim.requirements.requirement import Requirement
from gatesim.requirements.verdict import Measure, Outcome, Verdict

RESIDUAL = (FoundBy.PRESS_TEST, FoundBy.NEVER)
"""How a fault can be found that nothing finds in service."""


class Proof(NamedTuple):
    """One event that proves a verdict: when, who, what in words, and its line in the trace file."""

    at: float
    who: str
    sentence: str
    line: str


class JudgedRow(NamedTuple):
    """One requirement's verdict beside what was expected of it."""

    requirement: Requirement
    verdict: Verdict
    expected: str | None
    """As the scenario has it: "pass", "fail: too late"; None where it does not list the requirement."""
    differs: bool
    why: str
    """Why it differs, or ""."""
    profile: str
    evidence: tuple[Proof, ...]
    place: tuple[int, int] = (0, 0)
    """Line and column of what expects it, or of the list that does not have it; zeros where there is no file."""


class Residual(NamedTuple):
    """A fault kind of the scenario that nothing finds in service."""

    fault: str
    title: str
    found: FoundBy


class Judged(NamedTuple):
    """One file's result.  With `errors` there are no rows."""

    file: str
    title: str | None
    seed: int | None
    rows: tuple[JudgedRow, ...] = ()
    errors: tuple[Trouble, ...] = ()
    sha256: str | None = None
    residual: tuple[Residual, ...] = ()
    claims: tuple[str, ...] = ()
    """The coverage cells that the file says it exercises."""
    witnessed: frozenset[Cell] = frozenset()
    """The coverage cells that its trace shows."""
    site_sha256: str | None = None
    """Of everything that the site says, overrides included."""

    @property
    def outcome(self) -> str:
        """ "as expected", "differs" or "error"."""
        if self.errors:
            return "error"
        return "differs" if any(row.differs for row in self.rows) else "as expected"


class Summary(NamedTuple):
    """How many of each."""

    as_expected: int
    differs: int
    error: int


def summary(results: Iterable[Judged]) -> Summary:
    """Count the outcomes."""
    outcomes = [result.outcome for result in results]
    return Summary(outcomes.count("as expected"), outcomes.count("differs"), outcomes.count("error"))


def closest(rows: Iterable[JudgedRow]) -> JudgedRow | None:
    """The passed row that came nearest to its limit, as a share of the limit; times before all else.

    A failure that the scenario expects is no margin and is not counted.
    """
    best: JudgedRow | None = None
    least = (True, float("inf"))
    for row in rows:
        got = row.verdict.figures
        if row.verdict.outcome is not Outcome.PASS or got.margin is None or not got.limit:
            continue
        share = (row.requirement.measure is not Measure.US, got.margin / abs(got.limit))
        if share < least:
            best, least = row, share
    return best


def residual_risk(results: Iterable[Judged]) -> tuple[tuple[Residual, tuple[str, ...]], ...]:
    """Every such fault kind met, with the files that met it."""
    met: dict[Residual, list[str]] = {}
    for result in results:
        for kind in result.residual:
            met.setdefault(kind, []).append(result.file)
    return tuple((kind, tuple(met[kind])) for kind in sorted(met, key=lambda kind: kind.fault))
