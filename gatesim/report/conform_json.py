"""What logic under test met, missed and never showed, as JSON: `gatesim-conform/1`."""

from __future__ import annotations

import json
from typing import Any

from gatesim import __version__
from gatesim.search.conform import Conformance, Standing

FORMAT = "gatesim-conform/1"


def conform_json(result: Conformance, name: str) -> str:
    """One object.  A part that was not exercised says why in `absent`; null where it was."""
    whole: dict[str, Any] = {
        "format": FORMAT, "version": __version__, "logic": name, "site": result.site.name, "seed": result.seed,
        "requirements": [{
            "requirement": mark.requirement, "standing": mark.standing.value, "passed": mark.passed,
            "misses": [{"where": miss.where, "failure": miss.failure or None} for miss in mark.misses],
            "why": mark.why or None,
        } for mark in result.marks],
        "scenarios": [{"file": one.file, "as_expected": one.as_expected, "moved": one.moved,
                       "died": one.died or None,
                       "differs": [row.requirement for row in one.rows if row.differs]} for one in result.played],
        "sweep": _sweep(result), "stories": _stories(result), "table": _table(result),
        "summary": {
            **{standing.value.replace(" ", "_"): len(result.standing(standing)) for standing in Standing},
            "scenarios": len(result.played), "as_expected": sum(one.as_expected for one in result.played),
            "died": list(result.deaths), "anything_missed": result.missed, "seconds": round(result.seconds, 1),
        },
    }
    return json.dumps(whole, indent=1, ensure_ascii=False) + "\n"


def _sweep(result: Conformance) -> dict[str, Any]:
    swept = result.swept
    return {"rows": len(swept.rows), "runs": sum(row.runs for row in swept.rows), "in_part": swept.partial,
            "not_reached": swept.unreached,
            "same_with_the_reference": len(swept.excused), "absent": swept.absent or None,
            "missed": [{"fault": row.fault, "device": row.device, "direction": row.direction.value,
                        "outcome": row.outcome.value, "why": None if row.worst is None else row.worst.why or None,
                        "at_us": None if row.worst is None else row.worst.at} for row in swept.missed]}


def _stories(result: Conformance) -> dict[str, Any]:
    laws = result.laws
    return {"judged": laws.stories, "wanted": laws.wanted, "same_with_the_reference": laws.excused,
            "time_was_over": laws.ended, "absent": laws.absent or None,
            "broken": [{"requirement": one.failure.requirement, "failure": one.failure.failure, "story": one.tree}
                       for one in laws.broken]}


def _table(result: Conformance) -> dict[str, Any]:
    table = result.table
    if isinstance(table, str):
        return {"absent": table}
    return {"absent": None, "states": len(table.machine.modes), "states_reached": len(table.states),
            "transitions": len(table.machine.table.rows), "transitions_reached": len(table.rows),
            "pairs": len(table.all_pairs), "pairs_reached": len(table.pairs), "unsound": table.findings.wrong,
            "never_reached": [table.words(k) for k in range(len(table.machine.table.rows)) if k not in table.rows]}
