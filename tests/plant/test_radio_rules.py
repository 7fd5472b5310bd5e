"""Radio rule sets as data against the clauses' own figures."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gatesim.plant.radio_rules import ACTIVATED, PERIODIC, RuleSet, breaches, rule_of
from gatesim.plant.radio_tables import OwnRule, RadioRule

sys.path.insert(0, str(Path(__file__).parent))

from edge_bench import MS, NODE, S

OWN = RuleSet("own", "a paper", air_time=36_000, window=3_600 * S)
ALL = (ACTIVATED, PERIODIC, OWN)


def test_supervision_of_two_seconds_an_hour() -> None:
    # 47 CFR 15.231(a)(3), read; 5.556 ms every 10 s and 33.33 ms every 60 s calculated from it.
    assert ACTIVATED.longest_message(10 * S) == pytest.approx(5_556, abs=1)
    assert ACTIVATED.longest_message(60 * S) == pytest.approx(33_333, abs=1)
    assert ACTIVATED.least_period(5_556) == pytest.approx(10 * S, rel=1e-3)


def test_periodic_with_its_silence() -> None:
    # 47 CFR 15.231(e), read in a copy: 0.3 s needs 10 s of silence; 1 s is the longest, and needs 30 s.
    assert PERIODIC.silence(300_000) == 10 * S
    assert PERIODIC.silence(1_000_000) == 30 * S
    assert PERIODIC.least_period(300_000) == 10_300_000
    assert PERIODIC.longest_message(250_000) == 0
    assert PERIODIC.longest_message(10 * S) == 0
    assert PERIODIC.longest_message(10_100_000) == 100_000
    assert PERIODIC.longest_message(15_500_000) == 500_000
    assert PERIODIC.longest_message(3_600 * S) == 1_000_000


@given(st.sampled_from(ALL), st.integers(1, 10**10))
def test_the_longest_message_at_a_period_is_allowed_there_and_no_longer_one(rule: RuleSet, period: int) -> None:
    longest = rule.longest_message(period)
    if longest > 0:
        assert rule.least_period(longest) <= period * (1 + 1e-12)
    longer = longest + max(1.0, longest * 1e-6)
    assert rule.least_period(longer) > period or longer > (rule.longest or period)


def test_who_follows_what() -> None:
    assert rule_of(NODE) is None
    assert rule_of(replace(NODE, radio_rule=RadioRule.ACTIVATED)) is ACTIVATED
    assert rule_of(replace(NODE, radio_rule=RadioRule.PERIODIC)) is PERIODIC
    given = replace(NODE, radio_rule=RadioRule.OWN, own_rule=OwnRule("a paper", 1_000, silence_factor=2))
    made = rule_of(given)
    assert made is not None
    assert (made.source, made.silence(500), made.air_time) == ("a paper", 1_000, 1_000)


def test_what_is_not_kept_is_named_by_its_field() -> None:
    def fields(rule: RuleSet, **changes: object) -> list[str]:
        return [one.field for one in breaches(rule, replace(NODE, **changes))]  # type: ignore[arg-type]

    # The bench transmitter: 5 ms frames every 10 s at rest, every second in motion, changes three times 15 ms apart.
    assert fields(ACTIVATED) == []
    assert fields(ACTIVATED, checkin_at_rest=8 * S) == ["checkin_at_rest"]
    assert fields(ACTIVATED, event_spacing=3 * S) == ["event_repeats"]
    assert fields(ACTIVATED, supervision_budget=2_000_001) == ["supervision_budget"]
    assert fields(PERIODIC) == ["checkin_at_rest", "checkin_in_motion", "event_spacing"]
    assert fields(PERIODIC, checkin_at_rest=11 * S, checkin_in_motion=11 * S, event_repeats=1) == []
    assert "air_time" in fields(PERIODIC, air_time=1_001 * MS)
    assert all(one.message and one.remedy for one in breaches(PERIODIC, NODE))
