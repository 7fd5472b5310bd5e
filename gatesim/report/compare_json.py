"""Where two controllers differ, as JSON: `gatesim-compare/1`."""

from __future__ import annotations

import json
from typing import Any

from gatesim import __version__
from gatesim.search.compare import Compared

FORMAT = "gatesim-compare/1"


def compare_json(found: Compared, names: tuple[str, str]) -> str:
    """One object; `difference` and `story` are null where none was found.  Instants in us."""
    whole: dict[str, Any] = {
        "format": FORMAT, "version": __version__, "site": found.site.name, "seed": found.seed,
        "first": names[0], "second": names[1], "by": found.pair.by.value, "slack_us": found.pair.slack,
        "tried": found.tried, "wanted": found.wanted, "not_driven": found.undriven or None,
        "time_was_over": found.ended, "difference": None, "story": None, "verdicts": [],
    }
    if found.difference is not None and found.found is not None:
        pairs = zip(found.difference.members, found.difference.first, found.difference.second, strict=True)
        whole["difference"] = {
            "at_us": found.difference.at, "died": found.difference.died,
            "outputs": [{"name": name, "first": first, "second": second} for name, first, second in pairs],
        }
        whole["story"] = {"tree": found.tree, "steps": len(found.found.steps), "steps_before": found.steps_before,
                          "candidates": found.candidates}
        whole["verdicts"] = [one._asdict() for one in found.verdicts]
    return json.dumps(whole, indent=1, ensure_ascii=False) + "\n"
