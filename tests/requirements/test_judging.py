"""Limits, the judge, comparison with what was expected, and judging a finished trace."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from gatesim import events as e
from gatesim.events import Brake, Direction, Lockout, Origin, Run, Stamped
from gatesim.plant.site import LimitOverride, Profile, Site
from gatesim.requirements.catalogue import requirements
from gatesim.requirements.judging import Judge, Row, compare, judge_trace, limits_for
from gatesim.requirements.verdict import Outcome
from gatesim.scenario.model import Expectation, Expected
from gatesim.trace import Section, Story, read, write

CLOSING, OPENING = Direction.CLOSING, Direction.OPENING


def order(way: Direction | None) -> e.OrdersChanged:
    return e.OrdersChanged(way, False, True, Brake.HOLD, False, Lockout.NONE, False, "")


def stop_after(ms: float) -> tuple[Stamped, ...]:
    """A closing, stopped by an order that is obeyed after so long."""
    said: list[tuple[float, Any]] = [
        (0, e.CommandPressed(e.Command.CLOSE, Origin.WIRED)),
        (10, order(CLOSING)),
        (10, e.LeafStarted(CLOSING, 4e6)),
        (1000, order(None)),
        (1000 + ms, e.LeafStopped(3e6)),
    ]
    return tuple(Stamped(at * 1000, event) for at, event in said)


def rows(site: Site, events: tuple[Stamped, ...], *expect: Expectation) -> dict[str, Row]:
    judge = Judge.begin(site, expect)
    for number, (at, event) in enumerate(events):
        judge.see(number, at, event)
    return {row.requirement: row for row in compare(site, expect, [(Run.WHOLE, judge.verdicts(5e6))])}


def test_a_row_for_every_requirement_in_order(site: Site) -> None:
    assert list(rows(site, ())) == sorted(requirements())


def test_a_profile_decides_which_limits_stand(site: Site) -> None:
    ours, theirs = limits_for(site), limits_for(replace(site, limits=Profile.PROVED_FORCE))
    assert "peak-force" not in ours
    assert "edge-alone-reversal-begun" not in theirs
    peak = theirs["peak-force"]
    assert peak is not None
    assert peak.value == 400_000
    row = rows(site, (), Expectation("peak-force"))["peak-force"]
    assert row.verdict.outcome is Outcome.NOT_EXERCISED
    assert "does not stand" in row.verdict.reason
    assert row.differs


def test_a_site_overrides_a_limit_with_its_source(site: Site) -> None:
    own = replace(site, limit_overrides=(LimitOverride("stop-obeyed", "1.2 s", "brake report"),))
    limit = limits_for(own)["stop-obeyed"]
    assert limit is not None
    assert (limit.value, limit.source.document) == (1_200_000, "brake report")


@pytest.mark.parametrize(
    ("name", "given", "holds"),
    [
        ("stop-obeyed", "600 ms", 600_000),
        ("stop-obeyed", "2 s", 1_000_000),
        ("reversal-distance", "80 mm", 80_000),
        ("reversal-distance", "10 mm", 50_800),
        ("travel-after-actuation", "20 mm", 20_000),
    ],
)
def test_a_scenario_can_only_tighten(site: Site, name: str, given: str, holds: int) -> None:
    limit = limits_for(site, (Expectation(name, limit=given),))[name]
    assert limit is not None
    assert limit.value == holds


def test_a_tighter_limit_is_applied(site: Site) -> None:
    assert not rows(site, stop_after(700), Expectation("stop-obeyed"))["stop-obeyed"].differs
    row = rows(site, stop_after(700), Expectation("stop-obeyed", limit="600 ms"))["stop-obeyed"]
    assert row.differs
    assert row.verdict.figures == (700_000, 600_000, -100_000)


@pytest.mark.parametrize(
    ("ms", "expect", "expected", "why"),
    [
        (700, None, None, ""),
        (1700, None, None, "not expected to fail: not obeyed"),
        (700, Expectation("stop-obeyed"), "pass", ""),
        (1700, Expectation("stop-obeyed"), "pass", "failed: not obeyed"),
        (1700, Expectation("stop-obeyed", Expected.FAIL, "not obeyed"), "fail: not obeyed", ""),
        (1700, Expectation("stop-obeyed", Expected.FAIL, "another"), "fail: another", "failed otherwise: not obeyed"),
        (
            700,
            Expectation("stop-obeyed", Expected.FAIL, "not obeyed"),
            "fail: not obeyed",
            "passed although a failure was expected",
        ),
        (700, Expectation("alarm-lasts"), "pass", "not exercised: the alarm never sounded"),
        (
            700,
            Expectation("alarm-lasts", Expected.FAIL, "too short"),
            "fail: too short",
            "not exercised: the alarm never sounded",
        ),
    ],
)
def test_what_differs(site: Site, ms: float, expect: Expectation | None, expected: str | None, why: str) -> None:
    given = () if expect is None else (expect,)
    row = rows(site, stop_after(ms), *given)[expect.requirement if expect else "stop-obeyed"]
    assert (row.expected, row.why, row.differs) == (expected, why, bool(why))


def test_an_undetermined_verdict_differs_where_one_is_listed(site: Site) -> None:
    listed = Expectation("stop-obeyed")
    judge = Judge.begin(site, (listed,))
    for number, (at, event) in enumerate(stop_after(700)[:-1]):
        judge.see(number, at, event)
    row = next(
        row
        for row in compare(site, (listed,), [(Run.WHOLE, judge.verdicts(1.5e6))])
        if row.requirement == "stop-obeyed"
    )
    assert row.verdict.outcome is Outcome.UNDETERMINED
    assert row.differs


def test_a_copy_is_independent(site: Site) -> None:
    judge = Judge.begin(site)
    for number, (at, event) in enumerate(stop_after(700)[:-1]):
        judge.see(number, at, event)
    fork = judge.copy()
    fork.see(4, 5e6, e.LeafStopped(3e6))
    assert fork.verdicts(6e6)["stop-obeyed"].outcome is Outcome.FAIL
    judge.see(4, 1.7e6, e.LeafStopped(3e6))
    assert judge.verdicts(6e6)["stop-obeyed"].outcome is Outcome.PASS


# --- traces --------------------------------------------------------------------------------------------------------

WHOLE: list[tuple[float, Any]] = [
    (0, e.CommandPressed(e.Command.CLOSE, Origin.WIRED)),
    (10.4, order(CLOSING)),
    (10.4, e.LeafStarted(CLOSING, 4e6)),
    (1e6 + 0.5, e.ContactBegan("block", CLOSING, "nose", 2e6 + 0.3, 60_000.4, False)),
    (1.2e6, e.EdgeActuated("nose", CLOSING, 1.99e6 + 0.7)),
    (1.5e6, order(None)),
    (1.7e6 + 0.4, e.LeafStopped(1.95e6 + 0.2)),
    (2e6, order(OPENING)),
    (2.1e6 + 0.6, e.LeafStarted(OPENING, 1.95e6)),
    (2.5e6, e.EdgeReleased("nose", CLOSING)),
]
LATE: list[tuple[float, Any]] = [
    (1.2e6, e.EdgeActuated("nose", CLOSING, 1.99e6)),
    (2.7e6, order(None)),
    (2.9e6, e.LeafStopped(1.6e6)),
    (3.2e6, order(OPENING)),
    (3.3e6 + 0.6, e.LeafStarted(OPENING, 1.6e6)),
]


def stamped(said: list[tuple[float, Any]]) -> tuple[Stamped, ...]:
    return tuple(Stamped(at, event) for at, event in said)


def sections() -> tuple[Section, ...]:
    return (
        Section(Run.WHOLE, 0, None, stamped(WHOLE), 9e6),
        Section(Run.EDGE_ALONE, 4, 1e6 + 0.5, stamped(LATE), 3.3e6 + 0.6),
        Section(Run.FORCE_ALONE, 4, 1e6 + 0.5, stamped(WHOLE[4:9]), 2.1e6 + 0.6),
    )


def test_a_written_trace_gets_the_verdicts_of_the_live_one(site: Site) -> None:
    live = judge_trace(sections(), site)
    assert live == judge_trace(read(write(Story("yard", 1, "", sections()))).sections, site)
    found = {row.requirement: row for row in live}
    alone = found["edge-alone-reversal-begun"]
    assert (alone.verdict.failure, alone.verdict.figures.measured, alone.section) == ("too late", 2_300_000, 1)
    assert alone.verdict.evidence == (3, 4, 8)
    assert found["force-alone-reversal-begun"].verdict.outcome is Outcome.PASS
    assert found["reversal-begun"].verdict.figures.measured == 1_100_000
    assert found["travel-after-actuation"].verdict.figures.measured == 40_001


def test_rescued_by_the_other_means_is_no_pass(site: Site) -> None:
    found = {row.requirement: row for row in judge_trace(sections(), site)}
    assert found["reversal-begun"].verdict.outcome is Outcome.PASS
    assert found["edge-alone-reversal-begun"].verdict.outcome is Outcome.FAIL
    assert found["edge-alone-travel-after-actuation"].verdict.outcome is Outcome.FAIL


def test_the_worst_fork_counts(site: Site) -> None:
    whole, late, _ = sections()
    early = late._replace(events=stamped(WHOLE[4:9]))
    for forks, section in (((early, late), 2), ((late, early), 1)):
        row = next(row for row in judge_trace((whole, *forks), site) if row.requirement == "edge-alone-reversal-begun")
        assert (row.verdict.failure, row.section) == ("too late", section)


def test_a_fork_is_settled_with_its_contact(site: Site) -> None:
    judge = Judge.begin(site)
    for number, (at, event) in enumerate(WHOLE[:4]):
        judge.see(number, at, event)
    twin = judge.twin(Run.FORCE_ALONE)
    assert not twin.settled()
    for number, (at, event) in enumerate(WHOLE[4:9], 4):
        twin.see(number, at, event)
    assert twin.settled()
    later = judge.copy()
    for number, (at, event) in enumerate([*WHOLE[4:], (3e6, e.ContactBegan("x", OPENING, "", 3e6, 0.0, False))], 4):
        later.see(number, at, event)
    assert later.twin(Run.EDGE_ALONE).settled()  # the first contact has a fork of its own


def test_signals_that_a_trace_lacks_make_undetermined(site: Site) -> None:
    given = [kind.__name__ for kind in (e.LeafStarted, e.LeafStopped, e.OrdersChanged, e.MainChanged)]
    found = {row.requirement: row.verdict for row in judge_trace(sections()[:1], site, signals=given)}
    assert found["stop-obeyed"].outcome is Outcome.PASS
    assert found["reversal-begun"].outcome is Outcome.UNDETERMINED
    assert "ContactBegan" in found["reversal-begun"].reason


def test_a_touch_without_forks_leaves_the_single_means_undetermined(site: Site) -> None:
    found = {row.requirement: row.verdict for row in judge_trace(sections()[:1], site)}
    assert found["edge-alone-reversal-begun"].outcome is Outcome.UNDETERMINED
    assert found["reversal-begun"].outcome is Outcome.PASS
