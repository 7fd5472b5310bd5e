"""The travel sensor."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from gatesim.events import Direction
from gatesim.plant import travel_sensor
from gatesim.plant.motion import at, first_crossing, push, rest
from gatesim.plant.site import Site
from gatesim.plant.travel_sensor import Travelled, measured_at
from gatesim.plant.wires import Counts, LimitSwitch, Motion, Piece, SensorGain, Supply, Watch

TRAVEL = 4_000_000.0


@pytest.fixture
def sensor(site: Site, bench: Any, feed: Any) -> Any:
    """The sensor of an open leaf."""
    made = bench([travel_sensor.TravelSensor(TRAVEL, 5_000.0, TRAVEL)])
    made.at(0, feed(Motion(), rest(0.0, TRAVEL)), feed(LimitSwitch("open"), True))
    return made


def reads(sensor: Any) -> Travelled:
    """What it gives now."""
    travelled = sensor.level(Counts())
    assert isinstance(travelled, Travelled)
    return travelled


def closing(now: float, x: float = TRAVEL, v: float = 0.25) -> tuple[Piece, ...]:
    """At speed v from x to the closed stop."""
    return (Piece(now, x, -v, 0.0), Piece(now + x / v, 0.0, 0.0, 0.0))


def test_measures_the_motion(sensor: Any, feed: Any) -> None:
    assert measured_at(reads(sensor), 0) == TRAVEL
    sensor.at(1_000, feed(Motion(), closing(1_000)))
    assert reads(sensor).motion is Direction.CLOSING
    assert measured_at(reads(sensor), 5_000) == TRAVEL - 1_000
    sensor.until(2e7)
    assert reads(sensor).motion is None
    assert measured_at(reads(sensor), 2e7) == 0.0


@pytest.mark.parametrize("start", [closing(0), push(0.0, 0.0, 1, TRAVEL, 0.3, 0.5e-6)], ids=["closing", "opening"])
@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(watch=st.floats(1.0, TRAVEL - 1.0))
def test_calls_at_the_watched_position_and_measures_it_exactly(bench: Any, feed: Any, start: Any, watch: float) -> None:
    box = bench([travel_sensor.TravelSensor(TRAVEL, 5_000.0, start[0].x)])
    box.at(0, feed(Motion(), start), feed(Watch(), watch))
    sign = 1 if start[0].x == 0 else -1
    due = box.world.deadline()
    while reads(box).crossings == 0 and due < 1e9:
        due = box.world.deadline()
        box.until(due)
    assert reads(box).crossings == 1
    assert measured_at(reads(box), due) == watch
    assert due == pytest.approx(first_crossing(start, watch, 0.0, sign), abs=1e-3)
    box.until(1e9)
    assert reads(box).crossings == 1
    assert measured_at(reads(box), 1e9) == pytest.approx(start[-1].x, abs=1e-3)


def test_crossed_again_on_the_way_back(sensor: Any, feed: Any) -> None:
    sensor.at(0, feed(Motion(), closing(0)), feed(Watch(), 3e6))
    sensor.at(5_000_000, feed(Motion(), (Piece(5_000_000, TRAVEL - 1.25e6, 0.25, 0.0),)))
    sensor.until(5_999_999)
    assert reads(sensor).crossings == 1
    sensor.until(6_000_001)
    assert reads(sensor).crossings == 2


def test_a_slipping_coupling_counts_less(sensor: Any, feed: Any) -> None:
    sensor.at(0, feed(Motion(), closing(0)))
    sensor.at(4_000_000, feed(SensorGain(), 0.5))
    assert measured_at(reads(sensor), 8_000_000) == pytest.approx(TRAVEL - 1e6 - 0.5e6)
    sensor.at(8_000_000, feed(SensorGain(), 1.0))
    assert measured_at(reads(sensor), 9_000_000) == pytest.approx(TRAVEL - 1.5e6 - 0.25e6)


def test_a_sensor_that_came_off_sees_no_motion(sensor: Any, feed: Any) -> None:
    sensor.at(0, feed(Motion(), closing(0)))
    sensor.at(4_000_000, feed(SensorGain(), 0.0), feed(Watch(), 1e6))
    assert reads(sensor).motion is None
    sensor.until(2e7)
    assert measured_at(reads(sensor), 2e7) == TRAVEL - 1e6
    assert reads(sensor).crossings == 0


def test_unknown_after_a_power_loss_until_a_limit_switch_closes(sensor: Any, feed: Any) -> None:
    sensor.at(0, feed(Motion(), closing(0)), feed(Watch(), 1e6))
    sensor.at(1_000_000, feed(Supply(), False))
    assert (reads(sensor).known, reads(sensor).motion) == (False, None)
    assert measured_at(reads(sensor), 2_000_000) == TRAVEL - 250_000
    sensor.at(2_000_000, feed(Supply(), True))
    assert (reads(sensor).known, reads(sensor).motion) == (False, Direction.CLOSING)
    # differences count: 250 mm were missed, and the watched position comes a second late
    assert measured_at(reads(sensor), 3_000_000) == pytest.approx(TRAVEL - 500_000)
    sensor.until(12_999_990)
    assert reads(sensor).crossings == 0
    sensor.at(15_000_000, feed(LimitSwitch("open"), False))
    assert (reads(sensor).known, reads(sensor).crossings) == (False, 1)
    reached = (TRAVEL - 5_000) / 0.25
    sensor.at(reached, feed(LimitSwitch("closed"), True))
    assert reads(sensor).known
    assert measured_at(reads(sensor), reached) == 5_000
    assert measured_at(reads(sensor), reached + 10_000) == pytest.approx(2_500)


def test_a_false_limit_switch_never_moves_a_known_place(sensor: Any, feed: Any) -> None:
    sensor.at(0, feed(Motion(), closing(0)))
    sensor.at(4_000_000, feed(LimitSwitch("closed"), True))
    assert measured_at(reads(sensor), 4_000_000) == TRAVEL - 1e6
    assert at(sensor.level(Motion()), 4_000_000)[0] == TRAVEL - 1e6


def test_a_new_watch_is_taken_from_where_the_leaf_is(sensor: Any, feed: Any) -> None:
    sensor.at(0, feed(Motion(), closing(0)), feed(Watch(), 3e6))
    sensor.at(4_000_000 - 8, feed(Watch(), 2e6))
    sensor.until(7_999_999)
    assert reads(sensor).crossings == 0
    sensor.until(8_000_000)
    assert reads(sensor).crossings == 1
    sensor.at(9_000_000, feed(Watch(), None))
    sensor.until(2e7)
    assert reads(sensor).crossings == 1


# --- counts -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("x", "way", "there"),
    [(0.0, 1, 0.0), (2_499.0, 1, 0.0), (2_500.0, 1, 2_500.0), (2_500.0, -1, 2_500.0), (2_501.0, -1, 5_000.0),
     (7_499.0, 1, 5_000.0), (7_499.0, -1, 7_500.0)],
)
def test_the_last_count_passed(x: float, way: int, there: float) -> None:
    assert travel_sensor.counted(x, 2_500.0, way) == there


@given(st.integers(1, 4000), st.floats(100.0, 9_000.0), st.sampled_from([1, -1]))
def test_a_multiple_of_a_count_is_on_it(k: int, count: float, way: int) -> None:
    assert travel_sensor.counted(k * count, count, way) == pytest.approx(k * count, rel=1e-12)


@pytest.fixture
def counting(site: Site, bench: Any, feed: Any) -> Any:
    """The sensor of an open leaf that counts every 2.5 mm."""
    made = bench([travel_sensor.TravelSensor(TRAVEL, 5_000.0, TRAVEL, count=2_500.0)])
    made.at(0, feed(Motion(), rest(0.0, TRAVEL)), feed(LimitSwitch("open"), True))
    return made


def test_a_position_is_known_to_a_count(counting: Any, feed: Any) -> None:
    counting.at(0, feed(Motion(), closing(0)))
    assert measured_at(reads(counting), 9_999) == TRAVEL
    assert measured_at(reads(counting), 10_000) == TRAVEL - 2_500
    assert measured_at(reads(counting), 19_999) == TRAVEL - 2_500


def test_a_watched_position_is_crossed_with_the_first_count_past_it(counting: Any, feed: Any) -> None:
    counting.at(0, feed(Motion(), closing(0)), feed(Watch(), TRAVEL - 2_600.0))
    counting.at(19_999)
    assert reads(counting).crossings == 0
    counting.at(20_000)  # at 5 mm, where 2.6 mm is passed for sure
    assert reads(counting).crossings == 1
    assert measured_at(reads(counting), 20_000) == TRAVEL - 5_000


def test_counts_that_slip_fall_short(site: Site, bench: Any, feed: Any) -> None:
    box = bench([travel_sensor.TravelSensor(TRAVEL, 5_000.0, TRAVEL, slip=0.02)])
    box.at(0, feed(Motion(), rest(0.0, TRAVEL)), feed(LimitSwitch("open"), True))
    box.at(0, feed(Motion(), closing(0)))
    assert measured_at(reads(box), 4_000_000) == pytest.approx(TRAVEL - 0.98e6)
