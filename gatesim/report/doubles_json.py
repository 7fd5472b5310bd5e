"""What a set of scenarios catches, as JSON: `gatesim-doubles/1`."""

from __future__ import annotations

from typing import Any

from gatesim import __version__
from gatesim.report.as_json import as_json
from gatesim.search.doubles.catalogue import doubles
from gatesim.search.mutants import mutants
from gatesim.search.trial import Fate, Result, Tried

FORMAT = "gatesim-doubles/1"


def doubles_json(result: Result) -> str:
    """One object.  `by` is null where nothing caught it."""
    whole: dict[str, Any] = {
        "format": FORMAT,
        "version": __version__,
        "scenarios": result.scenarios,
        "left_out": [{"file": file, "differs": why} for file, why in result.unsound],
        "doubles": [_double(one) for one in result.doubles],
        "summary": {
            "run": len(result.doubles),
            **{fate.value: result.count(fate) for fate in Fate},
            "not_run": result.missing,
        },
    }
    if result.drawn:
        what = {one.name: one.what for one in mutants().made}
        caught = result.count(Fate.CAUGHT, mutants=True)
        whole["mutants"] = [{"name": one.name, "where": what[one.name], "outcome": one.fate.value,
                             "by": one.by or None, "why": one.why} for one in result.mutants]
        whole["mutation_score"] = {
            "run": len(result.mutants),
            "caught": caught,
            "missed": len(result.mutants) - caught,
            "not_run": result.drawn - len(result.mutants),
            "refused_by_the_table_check": len(result.refused),
            "per_cent": round(100 * caught / len(result.mutants), 1) if result.mutants else None,
        }
    return as_json(whole)


def _double(one: Tried) -> dict[str, Any]:
    double = doubles()[one.name]
    return {"name": one.name, "role": double.role.value, "row": double.row, "bug": double.bug,
            "outcome": one.fate.value, "by": one.by or None, "why": one.why}
