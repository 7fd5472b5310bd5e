"""A sweep as JSON: `gatesim-sweep/1`."""

from __future__ import annotations

import json
from typing import Any

from gatesim.search.contacts import Latent
from gatesim.search.ground import move_title
from gatesim.search.pairs import Paired, PairRow
from gatesim.search.store import SWEEP_KEY, Key
from gatesim.search.sweep import Row, Swept
from gatesim.search.ways import WayRow, Ways


def sweep_json(swept: Swept, version: str, paired: Paired | None = None, ways: Ways | None = None) -> str:
    """One object.  Times are whole microseconds; null where a figure has no meaning or is not known."""
    summary = swept.summary
    whole: dict[str, Any] = {
        "format": "gatesim-sweep/1",
        "version": version,
        "site": swept.site,
        "seed": swept.seed,
        "rows": [row_json(row) for row in swept.rows],
        "summary": {
            "runs": summary.runs,
            "seconds": round(summary.seconds, 3),
            "outcomes": {one.value: count for one, count in summary.outcomes.items()},
            "differs": sum(row.differs for row in swept.rows),
            "residual_risks": sum(row.residual for row in swept.rows),
            "rows_missing": summary.missing,
            "states_reached": summary.states_reached,
            "states": summary.states,
            "transitions_reached": summary.transitions_reached,
            "transitions": summary.transitions,
            "transitions_never_reached": list(swept.unused),
        },
    }
    if paired is not None:
        whole["pairs"] = [pair_json(row) for row in paired.rows]
        whole["summary"] |= {
            "pairs": len(paired.rows),
            "pairs_missing": paired.missing,
            "pairs_graver": sum(row.graver for row in paired.rows),
        }
    if ways is not None:
        whole["ways"] = {
            "strength": ways.strength,
            "factors": [{"name": factor.name, "values": list(factor.values)} for factor in ways.factors],
            "rows": [way_json(row) for row in ways.rows],
            "rows_missing": ways.missing,
        }
    return json.dumps(whole, indent=1) + "\n"


def kept_row(row: Row) -> tuple[Key, dict[str, Any]]:
    """What the store keeps of a row, and under which key."""
    whole = row_json(row)
    # Of two leaves each move has its rows.
    about = {**whole, "direction": move_title(row.direction, row.leaf)}
    return tuple(about[part] for part in SWEEP_KEY), whole


def _worst_json(row: Row | PairRow) -> dict[str, Any]:
    """The worst case of a row, and what the claim is worth."""
    worst = row.worst
    measured = None if worst is None else worst.measured
    limit = None if worst is None else worst.limit
    return {
        "requirement": None if worst is None or not worst.requirement else worst.requirement,
        "worst_us": measured,
        "bound_us": row.bound,
        "limit_us": limit,
        "margin_us": None if measured is None or limit is None else limit - measured,
        "worst_at_us": None if worst is None else worst.at,
        "runs": row.runs,
        "coverage": row.coverage.value,
        "why": "; ".join(filter(None, ("" if worst is None else worst.why, row.why))),
        "window_us": list(row.window),
        "gaps_us": [list(gap) for gap in row.gaps],
    }


def spans(value: list[Any]) -> str:
    """A span of instants, or several, as text: "1000-2500 4000-4100"."""
    several = value if not value or isinstance(value[0], list) else [value]
    return " ".join(f"{first}-{last}" for first, last in several)


def row_json(row: Row) -> dict[str, Any]:
    """One row."""
    return {
        "fault": row.fault,
        "device": row.device,
        "direction": row.direction.value,
        "leaf": None if row.leaf is None else row.leaf.value,
        "phase": row.phase.value,
        "duration": row.duration,
        "found": row.found.value,
        "outcome": row.outcome.value,
        "differs": row.differs,
        **_worst_json(row),
        "moments": {one.value: count for one, count in row.classes.items()},
        "contacts": None if row.latent is None else _contacts_json(row.latent),
    }


def _contacts_json(latent: Latent) -> dict[str, Any]:
    """What contacts showed while a fault was there and nothing announced it."""
    edge, force, gate = latent.missed_us
    return {
        "tried": latent.tried,
        "edge_missed": latent.edge,
        "force_missed": latent.force,
        "gate_missed": latent.whole,
        "rescued": latent.rescued,
        "unprotected_us": latent.unprotected,
        "onsets_us": list(latent.onsets),
        "onset_us": latent.onset,
        "first_missed_us": latent.first,
        "edge_missed_us": edge,
        "force_missed_us": force,
        "gate_missed_us": gate,
        "longest": [{"requirement": name, "worst_us": one.measured, "limit_us": one.limit, "worst_at_us": one.at}
                    for name, one in latent.longest],
        "runs": latent.runs,
        "coverage": latent.coverage.value,
        "why": latent.why,
        "gaps_us": [list(gap) for gap in latent.gaps],
    }


def pair_json(row: PairRow) -> dict[str, Any]:
    """One pair."""
    return {
        "fault": row.fault,
        "device": row.device,
        "then": row.then,
        "then_device": row.then_device or None,
        "direction": row.direction.value,
        "leaf": None if row.leaf is None else row.leaf.value,
        "when": row.when.value,
        "onset_us": row.onset,
        "alone": [row.first.value, row.second.value],
        "outcome": row.outcome.value,
        "graver": row.graver,
        "differs": row.differs,
        **_worst_json(row),
    }


def way_json(row: WayRow) -> dict[str, Any]:
    """One combination."""
    worst = row.worst
    return {
        "values": [{"name": name, "value": value} for name, value in row.values.items()],
        "at_us": row.at,
        "outcome": row.outcome.value,
        "differs": row.differs,
        "worst_us": None if worst is None else worst.measured,
        "limit_us": None if worst is None else worst.limit,
        "why": row.why,
    }
