"""The reference classifier: debouncing, faults of the reading, chatter, battery flags."""

from __future__ import annotations

import math
from typing import Any

import pytest

from gatesim.events import Level
from gatesim.plant.logic.classifier_reference import ReferenceClassifier
from gatesim.plant.logic.contract import ClassifierSeen, ClassifierSettings, EdgeBand

BAND = EdgeBand("edge", 432, 574, 804)
SETTINGS = ClassifierSettings((BAND,), 10_000, 2, 4, 512, 2, 12, 2600, 2400)
REST, SHORT, WEAK, HIGH, BROKEN = 512, 13, 253, 700, 1023


class Feed:
    """Feeds one scan after the other."""

    def __init__(self, kept: bytes | None = None, settings: ClassifierSettings = SETTINGS) -> None:
        self.logic = ReferenceClassifier()
        self.state, self.do = self.logic.start(settings, kept)
        self.n = 0

    def __call__(self, *codes: Any, reference: float = 512, mv: float | None = None) -> list[Level]:
        said = []
        for code in codes:
            self.n += 1
            self.state, self.do = self.logic.step(
                self.state, ClassifierSeen((code,), reference, self.n, mv), self.n * 10_000)  # type: ignore[arg-type]
            said.append(self.do.levels[0])
        return said


def test_before_the_first_scan_nothing_counts_as_healthy() -> None:
    assert Feed().do.levels == (Level.INVALID,)


@pytest.mark.parametrize(("code", "level"), [
    (431, Level.PRESSED), (432, Level.REST), (574, Level.REST), (575, Level.HIGH), (803, Level.HIGH),
    (804, Level.OPEN), (0, Level.PRESSED), (1023, Level.OPEN), (1024, Level.INVALID), (-1, Level.INVALID),
    (0xFFFF, Level.INVALID), (math.nan, Level.INVALID), (math.inf, Level.INVALID),
])
def test_first_scan_is_taken_over_at_once(code: float, level: Level) -> None:
    assert Feed()(code) == [level]


def test_press_takes_debounce_and_faults_take_fault_debounce() -> None:
    assert Feed()(REST, SHORT, SHORT) == [Level.REST, Level.REST, Level.PRESSED]
    assert Feed()(REST, BROKEN, BROKEN, BROKEN, BROKEN) == [Level.REST] * 4 + [Level.OPEN]
    assert Feed()(BROKEN, REST, REST) == [Level.OPEN, Level.OPEN, Level.REST]


def test_weak_contact_is_a_press() -> None:
    # 4 kohm beside 8.2 kohm: 0.81 V of 1.65 V.
    assert Feed()(REST, WEAK, WEAK)[-1] is Level.PRESSED


def test_good_scan_in_between_starts_the_count_anew() -> None:
    assert Feed()(REST, SHORT, REST, SHORT, REST)[-1] is Level.REST


@pytest.mark.parametrize("reference", [509, 515, math.nan, -1])
def test_reference_off_makes_all_readings_invalid(reference: float) -> None:
    feed = Feed()
    feed(REST)
    assert feed(*[REST] * 4, reference=reference) == [Level.REST] * 3 + [Level.INVALID]


@pytest.mark.parametrize("reference", [510, 514])
def test_reference_within_its_slack_is_trusted(reference: float) -> None:
    feed = Feed()
    feed(REST)
    assert set(feed(*[REST] * 8, reference=reference)) == {Level.REST}


def test_chatter_shorter_than_the_debounce_becomes_invalid_at_the_scan_that_fills_the_score() -> None:
    # +2 -1 for each pair: 2, 1, 3, 2, …: the 11th press brings 12.
    feed = Feed()
    feed(REST)
    levels = feed(*[SHORT, REST] * 20)
    assert levels.index(Level.INVALID) == 20
    assert levels[:20] == [Level.REST] * 20


def test_chatter_score_leaks_over_scans_that_were_not_made() -> None:
    feed = Feed()
    feed(REST)
    feed(*[SHORT, REST] * 10)
    assert feed.state.loops[0].score == 10
    feed.n += 7
    feed(REST)
    assert feed.state.loops[0].score == 2
    feed.n += 50
    feed(REST)
    assert feed.state.loops[0].score == 0


def test_level_leaves_invalid_like_any_other_and_the_score_restarts() -> None:
    feed = Feed()
    feed(REST)
    feed(*[SHORT, REST] * 10, SHORT)
    assert feed.do.levels == (Level.INVALID,)
    assert feed(REST, REST) == [Level.INVALID, Level.REST]
    assert feed.state.loops[0].score == 0


def test_next_scan_is_asked_for_only_while_a_reading_differs_from_its_level() -> None:
    feed = Feed()
    feed(REST)
    assert not feed.do.again
    feed(SHORT)
    assert feed.do.again
    feed(SHORT)
    assert not feed.do.again


@pytest.mark.parametrize(("mv", "low", "critical"), [
    (2600, False, False), (2599.9, True, False), (2400, True, False), (2399.9, True, True), (math.nan, True, True),
    (None, False, False),
])
def test_battery_flags_by_loaded_voltage(mv: float | None, low: bool, critical: bool) -> None:
    feed = Feed()
    feed(REST, mv=mv)
    assert (feed.do.low, feed.do.critical) == (low, critical)


def test_battery_flags_do_not_clear_by_recovery_or_by_a_press() -> None:
    feed = Feed()
    feed(REST, mv=2300)
    feed(REST, SHORT, SHORT, REST, REST, mv=3000)
    assert (feed.do.low, feed.do.critical) == (True, True)


def test_battery_flags_clear_by_a_new_cell_and_a_press_seen() -> None:
    feed = Feed(kept=b"\x03")
    assert (feed.do.low, feed.do.critical) == (True, True)
    feed(REST, REST, mv=3000)
    assert feed.do.critical
    feed(SHORT, SHORT, mv=3000)
    assert (feed.do.low, feed.do.critical) == (False, False)


def test_contact_found_closed_at_power_up_is_no_press_seen() -> None:
    feed = Feed(kept=b"\x03")
    feed(*[SHORT] * 5, mv=3000)
    assert feed.do.critical


def test_press_with_a_weak_new_cell_clears_nothing() -> None:
    feed = Feed(kept=b"\x01")
    feed(REST, SHORT, SHORT, REST, REST, mv=2550)
    assert (feed.do.low, feed.do.critical) == (True, False)


def test_copy_is_independent_and_equal() -> None:
    feed = Feed()
    feed(REST, SHORT)
    twin = feed.state.copy()
    assert twin == feed.state
    feed(SHORT)
    assert twin != feed.state
    assert twin.loops[0].taken is Level.REST
