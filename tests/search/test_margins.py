"""What counts as worse between two checks."""

from __future__ import annotations

from typing import Any

import pytest

from gatesim.search.margins import Became, compared, lost


def verdict(outcome: str = "pass", margin: int | None = 100) -> dict[str, Any]:
    return {"outcome": outcome, "measured": None, "limit": 500, "margin": margin, "unit": "us"}


def scenario(one: dict[str, Any] | None, *, outcome: str = "as expected", seed: int = 1, site: str = "s") -> Any:
    verdicts = {} if one is None else {"stop-obeyed": one}
    return {"outcome": outcome, "seed": seed, "site_sha256": site, "trace_sha256": "t", "verdicts": verdicts}


FILE = ("a.scenario.yaml",)


def became(before: Any, after: Any, share: float = 0.2) -> list[Became]:
    return [loss.became for loss in compared({FILE: before}, {FILE: after}, share).losses]


@pytest.mark.parametrize(
    ("before", "after", "worse"),
    [
        (verdict(), verdict(margin=81), None),
        (verdict(), verdict(margin=80), None),  # more than the share, not as much
        (verdict(), verdict(margin=79), Became.LESS_MARGIN),
        (verdict(), verdict(margin=0), Became.LESS_MARGIN),
        (verdict(), verdict(margin=500), None),
        (verdict(margin=0), verdict(margin=0), None),
        (verdict(), verdict(margin=None), Became.NO_FIGURE),
        (verdict(margin=None), verdict(margin=5), None),
        (verdict(), verdict("fail", -1), Became.FAILS),
        (verdict(), verdict("not exercised", None), Became.NOT_SHOWN),
        (verdict(margin=None), verdict("undetermined", None), Became.NOT_SHOWN),
        (verdict(), None, Became.NOT_JUDGED),
        (None, verdict(), None),
        (verdict("fail", -5), verdict("fail", -50), None),
        (verdict("fail", -5), verdict(), None),
        (verdict("not exercised", None), verdict("fail", -5), None),
    ],
)
def test_a_verdict_that_passed(before, after, worse) -> None:
    assert became(scenario(before), scenario(after)) == ([] if worse is None else [worse])


def test_the_share_that_is_gone() -> None:
    assert lost(100, 60) == 0.4
    assert lost(100, 150) == -0.5
    assert [lost(None, 1), lost(1, None), lost(0, 0), lost(-4, -8)] == [None] * 4
    (loss,) = compared({FILE: scenario(verdict())}, {FILE: scenario(verdict(margin=25), site="other")}, 0.2).losses
    assert (loss.file, loss.requirement, loss.share, loss.site_changed) == (*FILE, "stop-obeyed", 0.75, True)


def test_whole_scenarios() -> None:
    broken = scenario(None, outcome="error")
    assert became(scenario(verdict()), broken) == [Became.SCENARIO_BROKEN]
    assert became(broken, broken) == []
    then, now = {("x/a",): scenario(verdict()), ("y/b",): scenario(verdict())}, {("x/c",): scenario(verdict(), seed=2)}
    found = compared(then, now, 0.2, lambda file: file.startswith("x/"))
    assert [(loss.file, loss.became) for loss in found.losses] == [("x/a", Became.SCENARIO_GONE)]
    assert (found.scenarios, found.margins, found.new) == (0, 0, 1)


def test_what_was_compared_is_counted() -> None:
    found = compared({FILE: scenario(verdict())}, {FILE: scenario(verdict(), seed=2)}, 0.2)
    assert (found.scenarios, found.margins, found.new, found.reseeded, found.losses) == (1, 1, 0, 1, ())
