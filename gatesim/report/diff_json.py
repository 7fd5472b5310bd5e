"""`gatesim-diff/1`: the difference of two traces for programs."""

from __future__ import annotations

import json
from typing import Any

from gatesim.report.trace_diff import Difference, How, Pair, Part

FORMAT = "gatesim-diff/1"


def diff_json(before: str, after: str, found: Difference) -> str:
    """The object as text, ending in a line feed; instants in us, figures as in a trace."""
    said = {
        "format": FORMAT,
        "before": before,
        "after": after,
        "same": found.same,
        "rounded": found.rounded,
        "seeds": None if found.seeds is None else list(found.seeds),
        "sections": [_part(part) for part in found.parts],
    }
    return json.dumps(said, indent=1, ensure_ascii=False) + "\n"


def _part(part: Part) -> dict[str, Any]:
    pairs = sorted((*part.pairs, *part.frames), key=lambda pair: pair.at)
    counts = [pair.how for pair in pairs]
    return {
        "run": part.name,
        "ends_later_us": part.ends,
        "summary": {how.value: counts.count(how) for how in How},
        "changes": [_change(pair) for pair in pairs if pair.how is not How.SAME],
    }


def _change(pair: Pair) -> dict[str, Any]:
    one = pair.before or pair.after
    assert one is not None
    return {
        "how": pair.how.value,
        "event": one.kind,
        "subject": dict(one.subject),
        "at_us": None if pair.before is None else pair.before.at,
        "after_at_us": None if pair.after is None else pair.after.at,
        "later_us": pair.later if pair.before is not None and pair.after is not None else None,
        "fields": {key: [old, new] for key, old, new in pair.fields},
    }
