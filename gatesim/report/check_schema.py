"""The JSON Schema (2020-12) of `gatesim-check/1`."""

from __future__ import annotations

from typing import Any

from gatesim.report.check_json import FORMAT
from gatesim.report.golden_text import State
from gatesim.requirements.verdict import Measure, Outcome
from gatesim.search.margins import Became

_TEXT_OR_NULL = {"type": ["string", "null"]}
_WHOLE_OR_NULL = {"type": ["integer", "null"]}


def _closed(properties: dict[str, Any], optional: tuple[str, ...] = ()) -> dict[str, Any]:
    return {
        "type": "object",
        "properties": properties,
        "required": [name for name in properties if name not in optional],
        "additionalProperties": False,
    }


def _verdict() -> dict[str, Any]:
    quantity = _closed(
        {
            "name": _TEXT_OR_NULL,
            "measured": _WHOLE_OR_NULL,
            "limit": _WHOLE_OR_NULL,
            "margin": {**_WHOLE_OR_NULL, "description": "positive inside the limit"},
            "unit": {"enum": [measure.value for measure in Measure]},
        }
    )
    return _closed(
        {
            "requirement": {"type": "string"},
            "outcome": {"enum": [outcome.value for outcome in Outcome]},
            "expected": {**_TEXT_OR_NULL, "description": "null where the scenario does not list the requirement"},
            "quantity": quantity,
            "measured_us": _WHOLE_OR_NULL,
            "limit_us": _WHOLE_OR_NULL,
            "margin_us": _WHOLE_OR_NULL,
            "at_us": {**_WHOLE_OR_NULL, "description": "instant of the cause"},
            "profile": {"type": "string"},
            "reason": _TEXT_OR_NULL,
            "evidence": {"type": "array", "items": {"type": "string", "description": "a line of the trace"}},
        }
    )


def _error() -> dict[str, Any]:
    return _closed(
        {
            "file": {"type": "string"},
            "line": _WHOLE_OR_NULL,
            "column": _WHOLE_OR_NULL,
            "message": {"type": "string"},
            "hint": _TEXT_OR_NULL,
        }
    )


def _against() -> dict[str, Any]:
    figures = _closed(
        {
            "outcome": {"enum": [outcome.value for outcome in Outcome]},
            **dict.fromkeys(("measured", "limit", "margin"), _WHOLE_OR_NULL),
            "unit": {"enum": [measure.value for measure in Measure]},
        }
    )
    loss = _closed(
        {
            "file": {"type": "string", "description": "from the project's folder"},
            "requirement": {**_TEXT_OR_NULL, "description": "null where the whole scenario is meant"},
            "became": {"enum": [became.value for became in Became]},
            "before": {"anyOf": [figures, {"type": "null"}]},
            "after": {"anyOf": [figures, {"type": "null"}]},
            "lost_share": {"type": ["number", "null"], "description": "of the margin, 0 to 1 or more"},
            "site_changed": {"type": "boolean"},
        }
    )
    counts = {name: {"type": "integer", "minimum": 0}
              for name in ("scenarios", "margins", "new_scenarios", "other_seed")}
    return _closed(
        {
            "name": {"type": "string"},
            "version": {"type": "string"},
            "margin_loss_percent": {"type": "number"},
            **counts,
            "losses": {"type": "array", "items": loss},
        }
    )


def _golden() -> dict[str, Any]:
    return _closed(
        {
            "file": {"type": "string"},
            "golden": {"type": "string"},
            "state": {"enum": [state.value for state in State]},
            "changes": {**_WHOLE_OR_NULL, "description": "events that are missing, new, changed or moved"},
            "why": _TEXT_OR_NULL,
        }
    )


def check_schema() -> dict[str, Any]:
    """The schema of what `gatesim check --format json` prints."""
    scenario = _closed(
        {
            "file": {"type": "string", "description": "as given"},
            "title": _TEXT_OR_NULL,
            "seed": _WHOLE_OR_NULL,
            "outcome": {"enum": ["as expected", "differs", "error"]},
            "trace_sha256": {"type": ["string", "null"], "pattern": "^[0-9a-f]{64}$"},
            "verdicts": {"type": "array", "items": _verdict()},
            "errors": {"type": "array", "items": _error(), "minItems": 1},
        },
        optional=("errors",),
    )
    counts = {name: {"type": "integer", "minimum": 0} for name in ("as_expected", "differs", "error")}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": FORMAT,
        **_closed(
            {
                "format": {"const": FORMAT},
                "version": {"type": "string"},
                "seed": {**_WHOLE_OR_NULL, "description": "the seed given on the command line, for all scenarios"},
                "scenarios": {"type": "array", "items": scenario},
                "summary": _closed(counts),
                "against": {**_against(), "description": "with --against"},
                "golden": {"type": "array", "items": _golden(), "description": "with --golden"},
            },
            optional=("against", "golden"),
        ),
    }
