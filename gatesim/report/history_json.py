"""`gatesim-history/1`: what the store keeps, and two sweeps or checks compared, for programs."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from gatesim.search.margins import Change
from gatesim.search.store import SWEEP_KEY, Head, Kept, Listed

FORMAT = "gatesim-history/1"


def list_json(listed: Sequence[Listed]) -> str:
    """Everything that is kept, in the order in which it was begun."""
    return _text({"kept": [_head(one.head, one.rows, one.ended) for one in listed]})


def sweeps_json(old: Kept, new: Kept, found: Sequence[Change], share: float) -> str:
    """Two sweeps, row by row."""
    return _text({**_heads(old, new), "changes": [_change(one, share) for one in found],
                  "worse": sum(one.is_worse(share) for one in found)})


def checks_json(old: Kept, new: Kept, against: dict[str, Any]) -> str:
    """Two checks; `against` as in `gatesim-check/1`."""
    return _text({**_heads(old, new), "against": against, "worse": len(against["losses"])})


def _text(said: dict[str, Any]) -> str:
    return json.dumps({"format": FORMAT, **said}, indent=1) + "\n"


def _heads(old: Kept, new: Kept) -> dict[str, Any]:
    return {"before": _head(old.head, len(old.rows), old.ended), "after": _head(new.head, len(new.rows), new.ended)}


def _head(head: Head, rows: int, ended: bool) -> dict[str, Any]:
    said = head._asdict() | {"kind": head.kind.value}
    return {**said, "rows": rows, "ended": ended}


def _change(one: Change, share: float) -> dict[str, Any]:
    return {**dict(zip(SWEEP_KEY, one.key, strict=True)), "before": one.before, "after": one.after,
            "margin_lost_share": one.lost, "worse": one.is_worse(share)}
