"""Lost frames as JSON: `gatesim-losses/1`."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from gatesim.search.loss import LossRow
from gatesim.search.loss_tree import Channel


def loss_json(site: str, seed: int, channels: Mapping[str, Channel], rows: Sequence[LossRow], version: str) -> str:
    """One object.  Times are whole microseconds; chances are exact fractions, each rounded once to a number."""
    whole = {
        "format": "gatesim-losses/1",
        "version": version,
        "site": site,
        "seed": seed,
        "channels": {name: _channel(one) for name, one in channels.items()},
        "rows": [_row(row) for row in rows],
    }
    return json.dumps(whole, indent=1) + "\n"


def _channel(one: Channel) -> dict[str, Any]:
    return {
        "loss": float(one.loss),
        "worse": None if one.chain is not None else float(one.worse),
        "better": None if one.chain is not None else float(one.better),
        "share_bad": float(one.share_bad),
        "link_budget": one.link is not None,
        "loss_in_bad": float(one.loss_in_bad),
        "mean_loss": float(one.mean),
    }


def _row(row: LossRow) -> dict[str, Any]:
    return {
        "story": row.story,
        "device": row.device,
        "direction": row.direction.value,
        "at_us": row.at,
        "moment": row.moment,
        "limit_us": row.limit,
        "late" if not row.healthy else "nuisance": float(row.bad),
        "unaccounted": float(row.unaccounted),
        "outcomes": {what: float(chance) for what, chance in row.outcomes.items()},
        "times": [{"us": measured, "chance": float(chance)} for measured, chance in row.times],
        "failures": {why: float(chance) for why, chance in row.failures.items()},
        "frames": row.frames,
        "branches": row.branches,
        "joined": row.joined,
        "seconds": round(row.seconds, 3),
    }
