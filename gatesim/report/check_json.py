"""`gatesim-check/1`: the verdicts of many scenarios as one object for programs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from gatesim import __version__
from gatesim.errors import Trouble
from gatesim.report.as_json import as_json
from gatesim.report.judged import Judged, JudgedRow, summary
from gatesim.requirements.verdict import Measure

FORMAT = "gatesim-check/1"


def check_object(results: Sequence[Judged], seed: int | None) -> dict[str, Any]:
    """The whole object; `seed` is the one given on the command line, or None."""
    return {
        "format": FORMAT,
        "version": __version__,
        "seed": seed,
        "scenarios": [scenario_object(result) for result in results],
        "summary": summary(results)._asdict(),
    }


def check_json(results: Sequence[Judged], seed: int | None, beside: Mapping[str, Any] | None = None) -> str:
    """The object as text, ending in a line feed; `beside`: what else stands in it (`against`, `golden`)."""
    return as_json({**check_object(results, seed), **(beside or {})})


def scenario_object(result: Judged) -> dict[str, Any]:
    """One scenario."""
    said: dict[str, Any] = {
        "file": result.file,
        "title": result.title,
        "seed": result.seed,
        "outcome": result.outcome,
        "trace_sha256": result.sha256,
        "verdicts": [verdict_object(row) for row in result.rows],
    }
    if result.errors:
        said["errors"] = [trouble_object(trouble) for trouble in result.errors]
    return said


def trouble_object(trouble: Trouble) -> dict[str, Any]:
    """One fault of a file; line and column are null where there is none."""
    return {
        "file": trouble.file,
        "line": trouble.line or None,
        "column": trouble.column or None,
        "message": trouble.message,
        "hint": trouble.hint or None,
    }


def verdict_object(row: JudgedRow) -> dict[str, Any]:
    """One verdict.  The `_us` figures repeat the quantity where it is a time."""
    got, requirement = row.verdict.figures, row.requirement
    timed = requirement.measure is Measure.US
    return {
        "requirement": requirement.id,
        "outcome": row.verdict.outcome.value,
        "expected": row.expected,
        "quantity": {
            "name": requirement.quantity or None,
            "measured": got.measured,
            "limit": got.limit,
            "margin": got.margin,
            "unit": requirement.measure.value,
        },
        "measured_us": got.measured if timed else None,
        "limit_us": got.limit if timed else None,
        "margin_us": got.margin if timed else None,
        "at_us": row.verdict.at,
        "profile": row.profile,
        "reason": reason(row),
        "evidence": [proof.line for proof in row.evidence],
    }


def reason(row: JudgedRow) -> str | None:
    """Failure name, the requirement's own reason, and why it differs, in one text."""
    parts = [part for part in (row.verdict.failure, row.verdict.reason, row.why) if part]
    return "; ".join(dict.fromkeys(parts)) or None
