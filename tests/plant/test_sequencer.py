"""The output stage of two leaves: who may move, and from when on."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from gatesim.events import Direction, LeafName
from gatesim.plant import sequencer
from gatesim.plant.motion import rest
from gatesim.plant.site import SecondLeaf, Site
from gatesim.plant.travel_sensor import Travelled
from gatesim.plant.wires import Counts, LimitSwitch, Order, Piece, Supply, Watch

OPENING, CLOSING = (Direction.OPENING, False), (Direction.CLOSING, False)
NONE = (None, False)
TABLE = SecondLeaf(LeafName.FIRST, opening_delay=600_000, closing_delay=1_200_000, overlap=300_000.0)
RUN_OUT = 0.3 * 150_000 + 0.3 * 0.3 / 2e-6
"""Of the leaf on top: v d + v² / 2 a from 0.3 m/s (90 mm)."""
OPEN = 4_000_000.0


def counted(x: float, v: float = 0.0, since: float = 0.0, known: bool = True) -> Travelled:
    """A leaf at x that moves with v from `since` on."""
    way = None if v == 0 else Direction.OPENING if v > 0 else Direction.CLOSING
    return Travelled((Piece(since, x, v, 0.0),) if v else rest(since, x), known, way, 0)


class Stage:
    """The sequencer on wires fed by hand."""

    def __init__(self, site: Site, bench: Any, feed: Any, first: Travelled, second: Travelled,
                 table: SecondLeaf = TABLE) -> None:
        site = replace(site, second_leaf=table, leaf_at=0.0)
        self.box, self.feed = bench(sequencer.parts(site, None)), feed
        self.box.at(0, feed(Counts(), first), feed(Counts("second"), second), *self._ends("", first),
                    *self._ends("second ", second))

    def _ends(self, of: str, counts: Travelled) -> list[Any]:
        x = counts.pieces[0].x
        shut, open_ = LimitSwitch(of + "closed"), LimitSwitch(of + "open")
        return [self.feed(shut, x <= 5_000), self.feed(open_, x >= OPEN - 5_000)]

    def order(self, now: float, order: Any) -> None:
        self.box.at(now, self.feed(Order(), order))

    def counts(self, now: float, of: str, counts: Travelled) -> None:
        self.box.at(now, self.feed(Counts(of), counts))

    def switch(self, now: float, name: str, closed: bool) -> None:
        self.box.at(now, self.feed(LimitSwitch(name), closed))

    def given(self, now: float | None = None) -> tuple[Any, Any]:
        """The order of each leaf."""
        if now is not None:
            self.box.at(now)
        return self.box.level(Order("first"))[0], self.box.level(Order("second"))[0]


@pytest.fixture
def stage(site: Site, bench: Any, feed: Any) -> Any:
    return lambda *given, **more: Stage(site, bench, feed, *given, **more)


def test_a_site_of_one_leaf_has_none(site: Site) -> None:
    assert list(sequencer.parts(site, None)) == []


def test_opening_the_leaf_on_top_starts_and_the_other_waits_for_overlap_and_delay(stage: Any) -> None:
    made = stage(counted(0.0), counted(0.0))
    made.order(10, OPENING)
    assert made.given() == (Direction.OPENING, None)
    made.counts(100_000, "", counted(0.0, 0.3, 100_000))
    # 300 mm at 0.3 m/s: a second after the start, later than the delay.
    assert made.given(1_099_999) == (Direction.OPENING, None)
    assert made.given(1_100_000) == (Direction.OPENING, Direction.OPENING)


def test_the_delay_counts_to_the_microsecond_where_the_overlap_is_short(stage: Any) -> None:
    made = stage(counted(0.0), counted(0.0), table=replace(TABLE, overlap=1_000.0))
    made.order(10, OPENING)
    made.counts(100_000, "", counted(0.0, 0.3, 100_000))
    assert made.given(600_009) == (Direction.OPENING, None)
    assert made.given(600_010) == (Direction.OPENING, Direction.OPENING)


def test_closing_the_leaf_underneath_starts(stage: Any) -> None:
    made = stage(counted(OPEN), counted(OPEN))
    made.order(10, CLOSING)
    assert made.given() == (None, Direction.CLOSING)
    assert made.given(1_200_009) == (None, Direction.CLOSING)
    assert made.given(1_200_010) == (Direction.CLOSING, Direction.CLOSING)


def test_either_leaf_may_lie_on_top(stage: Any) -> None:
    made = stage(counted(0.0), counted(0.0), table=replace(TABLE, opens_first=LeafName.SECOND))
    made.order(10, OPENING)
    assert made.given() == (None, Direction.OPENING)


def test_the_delay_is_over_when_the_other_leaf_is_there(stage: Any) -> None:
    made = stage(counted(OPEN), counted(0.0))
    made.order(10, CLOSING)
    assert made.given() == (Direction.CLOSING, None)
    made.order(20, NONE)
    assert made.given() == (None, None)


def test_a_stop_ends_both_orders_at_once(stage: Any) -> None:
    made = stage(counted(1_500_000.0), counted(1_000_000.0))
    made.order(10, OPENING)
    assert made.given() == (Direction.OPENING, Direction.OPENING)
    made.order(20, NONE)
    assert made.given() == (None, None)


def test_in_mid_travel_nobody_waits(stage: Any) -> None:
    made = stage(counted(1_500_000.0), counted(1_000_000.0))
    made.order(10, CLOSING)
    assert made.given() == (Direction.CLOSING, Direction.CLOSING)
    made.order(20, NONE)
    made.order(30, OPENING)
    assert made.given() == (Direction.OPENING, Direction.OPENING)


def test_turning_back_does_not_wait_where_the_end_was_reached_by_one_leaf_only(stage: Any) -> None:
    """The second leaf came to its open end, the first did not: the movement that is reversed was under way."""
    made = stage(counted(3_000_000.0), counted(OPEN))
    made.order(10, OPENING)
    made.order(20, NONE)
    made.order(30, CLOSING)
    assert made.given() == (Direction.CLOSING, Direction.CLOSING)


def test_a_leaf_at_its_own_end_is_not_driven_on(stage: Any) -> None:
    made = stage(counted(1_500_000.0), counted(1_000_000.0))
    made.order(10, OPENING)
    made.switch(50, "second open", True)
    assert made.given() == (Direction.OPENING, None)


def test_the_closing_leaf_on_top_stops_so_that_it_stands_before_the_overlap(stage: Any) -> None:
    made = stage(counted(1_000_000.0), counted(900_000.0))
    made.order(10, CLOSING)
    made.counts(20, "", counted(1_000_000.0, -0.3, 20))
    at_hold = 20 + (1_000_000.0 - 300_000.0 - RUN_OUT) / 0.3
    assert made.given(at_hold - 1) == (Direction.CLOSING, Direction.CLOSING)
    assert made.given(at_hold + 1) == (None, Direction.CLOSING)
    made.switch(5_000_000, "second closed", True)
    assert made.given() == (Direction.CLOSING, None)


def test_the_leaf_underneath_does_not_close_under_the_other(stage: Any) -> None:
    """Out of order, as by a hand: nothing closes; opening, the leaf on top gets out of the way first."""
    made = stage(counted(100_000.0), counted(500_000.0))
    made.order(10, CLOSING)
    assert made.given() == (None, None)
    made.order(20, NONE)
    made.order(30, OPENING)
    assert made.given() == (Direction.OPENING, None)
    made.counts(40, "", counted(100_000.0, 0.3, 40))
    assert made.given(40 + 200_001 / 0.3) == (Direction.OPENING, Direction.OPENING)


def test_without_a_known_place_the_leaf_on_top_closes_last(stage: Any) -> None:
    made = stage(counted(1_500_000.0, known=False), counted(1_000_000.0, known=False))
    made.order(10, CLOSING)
    assert made.given() == (None, Direction.CLOSING)
    made.switch(50, "second closed", True)
    assert made.given() == (Direction.CLOSING, None)


def test_without_a_known_place_the_leaf_underneath_leaves_its_end_last(stage: Any) -> None:
    made = stage(counted(100_000.0, known=False), counted(0.0, known=False))
    made.order(10, OPENING)
    assert made.given(9_000_000) == (Direction.OPENING, None)
    made.switch(9_000_001, "open", True)
    assert made.given() == (None, Direction.OPENING)


def test_without_a_known_place_a_leaf_goes_back_as_far_as_it_came(stage: Any) -> None:
    made = stage(counted(1_000_000.0, known=False), counted(500_000.0, known=False))
    made.order(10, OPENING)
    made.counts(20, "", counted(1_000_000.0, 0.1, 20, known=False))
    made.order(1_000_020, NONE)
    made.counts(1_000_020, "", counted(1_100_000.0, known=False, since=1_000_020))
    made.order(2_000_000, CLOSING)
    assert made.given() == (Direction.CLOSING, Direction.CLOSING)
    made.counts(2_000_000, "", counted(1_100_000.0, -0.1, 2_000_000, known=False))
    assert made.given(2_999_999)[0] is Direction.CLOSING
    assert made.given(3_000_001)[0] is None


def test_the_supply_s_loss_forgets_the_way(stage: Any, feed: Any) -> None:
    made = stage(counted(1_000_000.0), counted(500_000.0))
    made.order(10, OPENING)
    made.box.at(20, feed(Supply(), False), feed(Order(), NONE))
    assert made.given() == (None, None)
    made.box.at(30, feed(Supply(), True), feed(Counts(), counted(1_000_000.0, known=False)),
                feed(Counts("second"), counted(500_000.0, known=False)))
    made.order(40, CLOSING)
    assert made.given() == (None, Direction.CLOSING)


def test_slow_goes_with_the_order(stage: Any) -> None:
    made = stage(counted(1_500_000.0), counted(1_000_000.0))
    made.order(10, (Direction.CLOSING, True))
    assert made.box.level(Order("first")) == (Direction.CLOSING, True)
    assert made.box.level(Order("second")) == (Direction.CLOSING, True)


def test_the_leaves_own_sensors_watch_nothing(stage: Any) -> None:
    made = stage(counted(0.0), counted(0.0))
    assert made.box.level(Watch("first")) is None
    assert made.box.level(Watch("second")) is None
