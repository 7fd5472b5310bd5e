"""The inherent force sensing."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from gatesim.events import (
    Direction,
    EnterObstruction,
    ForceCleared,
    ForceTripped,
    LeafStarted,
    LeafStopped,
    LeaveObstruction,
)
from gatesim.plant import force_sensing, leaf, obstruction
from gatesim.plant.site import Site
from gatesim.plant.wires import Contactor, ForceGain, ForceReady, ForceTrip, Supply

OPEN, CLOSE = Contactor("opening"), Contactor("closing")
TOUCH = 100_000 + 600_000 + (2_000 - 90) / 0.3 * 1e3
LIMIT = TOUCH + (10_000 + 40_000 * 240 / 440) / 0.3
"""When the force on the edge comes to 300 N at 0.3 m/s."""
DWELL = 50_000


def gate(site: Site, bench: Any) -> Any:
    """Leaf, obstructions, and the sensing with its gain fed by hand."""
    sensing = [part for part in force_sensing.parts(site, None) if isinstance(part, force_sensing.ForceSensing)]
    return bench([*leaf.parts(site, None), *obstruction.parts(site, None), *sensing])


@pytest.fixture
def yard(site: Site, bench: Any) -> Any:
    """The plain site."""
    return gate(site, bench)


POST = EnterObstruction("post", "front", 2e6, None, True)


def test_trips_after_the_dwell(yard: Any, feed: Any) -> None:
    yard.at(0, POST, feed(CLOSE, True))
    yard.until(2e7)
    assert yard.instants(ForceTripped) == pytest.approx([LIMIT + DWELL], abs=1e-2)
    assert yard.all(ForceTripped)[0].event.direction is Direction.CLOSING
    assert yard.level(ForceTrip()) is True
    assert yard.all(ForceCleared) == []


def test_a_force_that_does_not_last_does_not_trip(yard: Any, feed: Any) -> None:
    yard.at(0, POST, feed(CLOSE, True))
    yard.at(LIMIT + DWELL - 1, LeaveObstruction("post"))
    yard.until(2e7)
    assert yard.all(ForceTripped) == []


def test_without_thrust_nothing_counts(yard: Any, feed: Any) -> None:
    yard.at(0, POST, feed(CLOSE, True))
    yard.at(LIMIT + 10_000, feed(CLOSE, False))
    yard.until(2e7)
    assert yard.all(ForceTripped) == []
    yard.at(20_000_000, feed(CLOSE, True))
    yard.until(3e7)
    assert yard.instants(ForceTripped) == [20_000_000 + DWELL]


def test_falls_when_the_leaf_moves_the_other_way(yard: Any, feed: Any) -> None:
    yard.at(0, POST, feed(CLOSE, True))
    yard.until(LIMIT + DWELL + 1)
    yard.at(9_000_000, feed(CLOSE, False))
    assert yard.level(ForceTrip()) is True
    yard.at(10_000_000, feed(OPEN, True))
    yard.until(2e7)
    assert yard.instants(ForceCleared) == [10_100_000] == yard.instants(LeafStarted)[1:]
    assert len(yard.all(ForceTripped)) == 1


def test_falls_when_the_obstruction_is_gone(yard: Any, feed: Any) -> None:
    yard.at(0, POST, feed(CLOSE, True))
    yard.at(10_000_000, LeaveObstruction("post"))
    assert yard.instants(ForceCleared) == [10_000_000]
    assert yard.level(ForceTrip()) is False


def test_blind_after_a_start_the_dwell_begins_at_its_end(yard: Any, feed: Any) -> None:
    near = EnterObstruction("post", "front", 4e6, None, True)
    yard.at(0, near, feed(CLOSE, True))
    yard.until(2e7)
    # touching from the start of the leaf at 0.1 s; 31.8 mm and 300 N after sqrt(2 s / a) = 0.357 s, blind until 0.8 s
    assert yard.all(LeafStopped)[0].at < 800_000
    assert yard.instants(ForceTripped) == [100_000 + 700_000 + DWELL]


@pytest.mark.parametrize(("blind", "trips"), [(25_000.0, 0), (15_000.0, 1), (0.0, 1)])
def test_blind_before_the_stop_ahead(site: Site, bench: Any, feed: Any, blind: float, trips: int) -> None:
    """A foot 40 mm before the post, on an edge that brings the leaf up 17 mm before it."""
    soft = replace(site.edges[0], actuating_travel=5_000.0, overtravel=15_000.0, full_force=310_000.0)
    strong = replace(site, edges=(soft, site.edges[1]), drive=replace(site.drive, blind_at_end=blind))
    yard = gate(strong, bench)
    yard.at(0, EnterObstruction("foot", "front", 40_000.0, None, True), feed(CLOSE, True))
    yard.until(4e7)
    # 310 N at 20 mm, then brought up by 310 N + sqrt(k m v^2) = 1724 N over 2.83 mm: stands 17.2 mm before the post.
    assert yard.all(LeafStopped)[0].event.x == pytest.approx(20_000 - 2_828.4, abs=0.1)
    assert len(yard.all(ForceTripped)) == trips


def test_a_touch_of_the_other_side_is_not_felt(yard: Any, feed: Any) -> None:
    """Closing away from what is pressed on the opening side: no force against the thrust."""
    yard.at(0, EnterObstruction("wall", "rear", 4e6, None, True), feed(CLOSE, True))
    yard.until(2e7)
    assert yard.all(ForceTripped) == []


@pytest.mark.parametrize(("gain", "newton"), [(0.75, 400.0), (1.5, 200.0)])
def test_a_wrong_gain_moves_the_limit(yard: Any, feed: Any, gain: float, newton: float) -> None:
    yard.at(0, POST, feed(CLOSE, True), feed(ForceGain(), gain))
    yard.until(2e7)
    limit = TOUCH + (10_000 + 40_000 * (newton - 60) / 440) / 0.3
    assert yard.instants(ForceTripped) == pytest.approx([limit + DWELL], abs=1e-2)
    assert yard.level(ForceReady()) is True


def test_a_dead_transducer_never_trips_and_fails_its_own_test(yard: Any, feed: Any) -> None:
    yard.at(0, POST, feed(CLOSE, True), feed(ForceGain(), 0.0))
    yard.until(2e7)
    assert yard.all(ForceTripped) == []
    assert yard.level(ForceReady()) is False


def test_without_supply_it_is_silent_and_not_ready(yard: Any, feed: Any) -> None:
    yard.at(0, POST, feed(CLOSE, True))
    yard.at(10_000_000, feed(Supply(), False))
    assert yard.level(ForceTrip()) is False
    assert yard.level(ForceReady()) is False
    assert yard.instants(ForceCleared) == [10_000_000]


def test_pressed_from_before_it_counts_only_once_the_leaf_moves(site: Site, bench: Any, feed: Any) -> None:
    """During the start delay the brake, not the drive, holds the squeeze."""
    quick = gate(replace(site, drive=replace(site.drive, blind_after_start=0)), bench)
    quick.at(0, POST, feed(CLOSE, True))
    # 45 mm + 45 mm of stopping on the order, ending 40 mm into an edge that gives 50 mm: 390 N
    quick.at(TOUCH - 50_000 / 0.3, feed(CLOSE, False))
    quick.until(9e6)
    assert quick.all(ForceTripped) == []
    quick.at(9_000_000, feed(CLOSE, True))
    quick.until(2e7)
    assert quick.instants(ForceTripped) == [9_100_000 + DWELL]


def test_the_forces_of_two_add(yard: Any, feed: Any) -> None:
    """Neither reaches 300 N when both together do: 150 N each, 10 mm + 40 mm x 90/440 in."""
    yard.at(0, POST, EnterObstruction("cart", "front", 2e6, None, True), feed(CLOSE, True))
    yard.until(2e7)
    both = TOUCH + (10_000 + 40_000 * 90 / 440) / 0.3
    assert yard.instants(ForceTripped) == pytest.approx([both + DWELL], abs=1e-2)
