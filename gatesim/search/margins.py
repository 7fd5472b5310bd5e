"""What became of kept rows: two sweeps row by row, and two checks verdict by verdict.

A check's row is a scenario: `outcome`, `seed`, `site_sha256`, `trace_sha256`, and `verdicts`, by requirement
`{"outcome", "measured", "limit", "margin", "unit"}` with the margin positive inside the limit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from enum import Enum
from typing import Any, NamedTuple

from gatesim.requirements.verdict import Outcome
from gatesim.search.store import Kept, Key


def lost(before: int | None, after: int | None) -> float | None:
    """The share of its margin that was lost (negative: gained); None where that can't be said."""
    if before is None or after is None or before <= 0:
        return None
    return (before - after) / before


class Change(NamedTuple):
    """What became of one row between two sweeps."""

    key: Key
    before: dict[str, Any] | None
    after: dict[str, Any] | None

    @property
    def lost(self) -> float | None:
        """The share of its margin that it lost (negative: gained); None where that can't be said."""
        if self.before is None or self.after is None:
            return None
        return lost(self.before["margin_us"], self.after["margin_us"])

    def is_worse(self, share: float) -> bool:
        """Whether it came out graver, lost more of its margin than the share, proves less, or is missing now."""
        if self.after is None:
            return True
        if self.before is None:
            return bool(self.after["differs"])
        graver = _GRAVITY.index(self.after["outcome"]) < _GRAVITY.index(self.before["outcome"])
        less = _WORTH.index(self.after["coverage"]) > _WORTH.index(self.before["coverage"])
        return graver or less or (self.lost or 0.0) > share


_GRAVITY = ("unsafe", "safe but late", "undetermined", "latent", "nuisance stop", "safe in time", "no effect")
_WORTH = ("exact", "sampled", "incomplete")


def changes(before: Kept, after: Kept) -> list[Change]:
    """Row by row, in the order of the later sweep; what is missing there comes last."""
    found = [Change(key, before.rows.get(key), row) for key, row in after.rows.items()]
    found += [Change(key, row, None) for key, row in before.rows.items() if key not in after.rows]
    return [one for one in found if one.before != one.after]


class Became(Enum):
    """In what way a verdict that passed is worth less now."""

    LESS_MARGIN = "lost margin"
    NO_FIGURE = "passes without a figure"
    FAILS = "fails now"
    NOT_SHOWN = "is no longer shown"
    NOT_JUDGED = "is no longer judged"
    SCENARIO_GONE = "scenario is gone"
    SCENARIO_BROKEN = "scenario does not run"


class Loss(NamedTuple):
    """One verdict that passed before and is worth less now; for a whole scenario the requirement is ""."""

    file: str
    requirement: str
    became: Became
    before: dict[str, Any]
    after: dict[str, Any] | None
    share: float | None
    """Of the margin, that was lost; None where that can't be said."""
    site_changed: bool


class Compared(NamedTuple):
    """Two checks beside each other.

    `losses`: what is worse, in the order of the later check; `margins`: how many margins stand beside an earlier one;
    `scenarios`: how many scenarios do; `new`: files without an earlier result; `reseeded`: with another seed than then.
    """

    losses: tuple[Loss, ...]
    margins: int
    scenarios: int
    new: int
    reseeded: int


def compared(before: Mapping[Key, dict[str, Any]], after: Mapping[Key, dict[str, Any]], share: float,
             within: Callable[[str], bool] = lambda _: True) -> Compared:
    """Every verdict that passed in both checks or in the earlier one.

    `share` (0 to 1): a pass that lost more than this of its margin is a loss.  `within` says of a file of the earlier
    check whether the later one should have had it.
    """
    both = [key for key in after if key in before]
    losses = [loss for key in both for loss in _of_scenario(key[0], before[key], after[key], share)]
    losses += [Loss(key[0], "", Became.SCENARIO_GONE, row, None, None, False)
               for key, row in before.items() if key not in after and within(key[0])]
    margins = sum(lost(then["margin"], now["margin"]) is not None
                  for key in both for then, now in _passed_twice(before[key], after[key]))
    reseeded = sum(before[key]["seed"] != after[key]["seed"] for key in both)
    return Compared(tuple(losses), margins, len(both), len(after) - len(both), reseeded)


def _passed_twice(before: dict[str, Any], after: dict[str, Any]) -> Iterator[tuple[dict[str, Any], dict[str, Any]]]:
    for name, then in before["verdicts"].items():
        now = after["verdicts"].get(name)
        if now is not None and then["outcome"] == now["outcome"] == Outcome.PASS.value:
            yield then, now


def _of_scenario(file: str, before: dict[str, Any], after: dict[str, Any], share: float) -> Iterator[Loss]:
    if after["outcome"] == "error":
        if before["outcome"] != "error":
            yield Loss(file, "", Became.SCENARIO_BROKEN, before, after, None, False)
        return
    changed = before["site_sha256"] != after["site_sha256"]
    for name, then in before["verdicts"].items():
        now = after["verdicts"].get(name)
        became = _became(then, now, share)
        if became is not None:
            gone = lost(then["margin"], now["margin"]) if became is Became.LESS_MARGIN and now is not None else None
            yield Loss(file, name, became, then, now, gone, changed)


def _became(then: dict[str, Any], now: dict[str, Any] | None, share: float) -> Became | None:
    if then["outcome"] != Outcome.PASS.value:
        return None
    if now is None:
        return Became.NOT_JUDGED
    if now["outcome"] == Outcome.FAIL.value:
        return Became.FAILS
    if now["outcome"] != Outcome.PASS.value:
        return Became.NOT_SHOWN
    if then["margin"] is not None and now["margin"] is None:
        return Became.NO_FIGURE
    gone = lost(then["margin"], now["margin"])
    return Became.LESS_MARGIN if gone is not None and gone > share else None
