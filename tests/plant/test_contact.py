"""Contact: touch, levels of force, peaks, and the faces of the edges."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from gatesim.events import (
    Brake,
    ContactBegan,
    ContactEnded,
    Direction,
    EdgeActuated,
    EdgeReleased,
    EnterObstruction,
    ForceFell,
    ForcePeaked,
    ForceRose,
    LeafStarted,
    LeafStopped,
    LeaveObstruction,
    PressStrip,
    PushLeaf,
    ReleaseStrip,
)
from gatesim.plant import contact, leaf, obstruction
from gatesim.plant.site import Site
from gatesim.plant.wires import BrakeOrder, Contactor, StripPressed

OPEN, CLOSE = Contactor("opening"), Contactor("closing")
TOUCH = 100_000 + 600_000 + (2_000 - 90) / 0.3 * 1e3
"""When a leaf that is energised at 0 comes to a place 2 m ahead: start delay, 90 mm of speeding up, cruise."""


@pytest.fixture
def yard(site: Site, bench: Any) -> Any:
    """Leaf, obstructions and contact."""
    return bench([*leaf.parts(site, None), *obstruction.parts(site, None), *contact.parts(site, None)])


def levels(yard: Any, kind: type) -> list[float]:
    """Levels passed (N)."""
    return [e.event.level / 1000 for e in yard.all(kind)]


def test_closing_onto_an_edge(yard: Any, feed: Any) -> None:
    yard.at(0, EnterObstruction("post", "front", 2e6, None, True), feed(CLOSE, True))
    yard.until(2e7)
    (began,) = yard.all(ContactBegan)
    assert began.at == pytest.approx(TOUCH, abs=1e-3)
    assert began.event == ContactBegan("post", Direction.CLOSING, "nose", 2e6, 40_000.0, False)
    (actuated,) = yard.all(EdgeActuated)
    assert actuated.at == pytest.approx(TOUCH + 10_000 / 0.3, abs=1e-3)
    assert actuated.event == EdgeActuated("nose", Direction.CLOSING, pytest.approx(1_990_000))
    assert yard.level(StripPressed("nose")) is True
    # 25 N on the first line (60 N at 10 mm), 150 and 400 N on the second (500 N at 50 mm), 1400 N in the bringing up
    rose = yard.all(ForceRose)
    assert [e.event.level for e in rose] == [25e3, 150e3, 400e3, 1400e3]
    assert [e.at - TOUCH for e in rose[:3]] == pytest.approx(
        [10_000 * 25 / 60 / 0.3, (10_000 + 40_000 * 90 / 440) / 0.3, (10_000 + 40_000 * 340 / 440) / 0.3], abs=1e-3)
    (peak,) = yard.all(ForcePeaked)
    (stopped,) = yard.all(LeafStopped)
    assert peak.at == stopped.at
    assert peak.event.force / 1000 == pytest.approx(500 + (500e3 * 400 * 0.09) ** 0.5)
    assert peak.event.gap == 2e6


def test_the_peak_on_a_spring_alone(site: Site, bench: Any, feed: Any) -> None:
    """300 kg at 0.3 m/s on 500 N/mm with no drive behind it: 3674.2 N (energy balance)."""
    free = replace(site, gate=replace(site.gate, mass=300.0), drive=replace(site.drive, stall_force=0.0))
    yard = bench([*leaf.parts(free, None), *obstruction.parts(free, None), *contact.parts(free, None)])
    yard.at(0, EnterObstruction("post", "front", 2e6, None, False), feed(CLOSE, True))
    yard.until(2e7)
    (peak,) = yard.all(ForcePeaked)
    assert peak.event.force / 1000 == pytest.approx(3674.2, abs=0.05)
    assert (2e6 - yard.all(LeafStopped)[0].event.x) / 1000 == pytest.approx(7.348, abs=5e-4)


def test_a_reversal_frees_the_edge(yard: Any, feed: Any) -> None:
    yard.at(0, EnterObstruction("post", "front", 2e6, None, True), feed(CLOSE, True))
    yard.at(TOUCH + 20_000 / 0.3, feed(CLOSE, False))
    yard.at(9_000_000, feed(OPEN, True))
    yard.until(2e7)
    assert levels(yard, ForceFell) == levels(yard, ForceRose)[::-1]
    (released,), (ended,) = yard.all(EdgeReleased), yard.all(ContactEnded)
    assert 9_100_000 < released.at < ended.at
    back = 2e6 - yard.all(LeafStopped)[0].event.x
    assert ended.at == pytest.approx(9_100_000 + (2 * back / 0.5e-6) ** 0.5, abs=1e-2)
    assert len(yard.all(ForcePeaked)) == 1
    assert yard.level(StripPressed("nose")) is False


def test_opening_onto_the_rear_edge(site: Site, bench: Any, feed: Any) -> None:
    shut = replace(site, leaf_at=0.0)
    yard = bench([*leaf.parts(shut, None), *obstruction.parts(shut, None), *contact.parts(shut, None)])
    yard.at(0, EnterObstruction("wall", "rear", 2e6, None, True), feed(OPEN, True))
    yard.until(2e7)
    assert yard.all(ContactBegan)[0].at == pytest.approx(TOUCH, abs=1e-3)
    assert yard.all(EdgeActuated)[0].event == EdgeActuated("tail", Direction.OPENING, pytest.approx(2_010_000))
    assert yard.all(ForcePeaked)[0].event.gap == 2e6
    assert yard.level(StripPressed("nose")) is False


def test_beyond_the_edge_no_strip_is_pressed(yard: Any, feed: Any) -> None:
    yard.at(0, EnterObstruction("post", "front", 2e6, None, False), feed(CLOSE, True))
    yard.until(2e7)
    assert yard.all(ContactBegan)[0].event.edge == ""
    assert yard.all(EdgeActuated) == []


@pytest.mark.parametrize(("position", "blind"), [(25_000.0, True), (25_001.0, False)])
def test_contact_in_the_blind_zone_before_the_stop(yard: Any, feed: Any, position: float, blind: bool) -> None:
    yard.at(0, EnterObstruction("foot", "front", position, None, True), feed(CLOSE, True))
    yard.until(3e7)
    assert [e.event.blind for e in yard.all(ContactBegan)] == [blind]


def test_a_touch_at_rest_is_a_contact_when_the_leaf_moves_that_way(yard: Any, feed: Any) -> None:
    yard.at(0, EnterObstruction("post", "front", 4e6, None, True))
    yard.until(1e6)
    assert yard.log[1:] == []
    yard.at(1_000_000, feed(CLOSE, True))
    yard.until(1e7)
    assert yard.instants(ContactBegan) == yard.instants(LeafStarted) == [1_100_000]


def test_a_contact_that_lasts_counts_again_at_the_next_start_toward_it(yard: Any, feed: Any) -> None:
    yard.at(0, EnterObstruction("post", "front", 2e6, None, True), feed(CLOSE, True))
    yard.at(TOUCH + 10_000, feed(CLOSE, False))
    yard.until(9e6)
    begun = len(yard.all(ContactBegan))
    yard.at(9_000_000, feed(BrakeOrder(), Brake.RELEASE))
    yard.at(10_000_000, feed(BrakeOrder(), Brake.HOLD), feed(CLOSE, True))
    yard.until(2e7)
    assert begun == 1
    assert yard.instants(ContactBegan)[1:] == [10_100_000]
    assert yard.all(ContactEnded) == []


def test_an_obstruction_that_leaves_ends_everything_at_once(yard: Any, feed: Any) -> None:
    yard.at(0, EnterObstruction("post", "front", 2e6, None, True), feed(CLOSE, True))
    gone = TOUCH + 30_000 / 0.3
    yard.at(gone, LeaveObstruction("post"))
    yard.until(1e7)
    assert yard.instants(ContactEnded) == yard.instants(EdgeReleased) == yard.instants(ForcePeaked) == [gone]
    assert levels(yard, ForceFell) == [150.0, 25.0]
    assert yard.all(ForcePeaked)[0].event.force == pytest.approx(60e3 + 440e3 * 20 / 40)


def test_entering_behind_a_moving_leaf_touches_it_without_force(yard: Any, feed: Any) -> None:
    yard.at(0, feed(CLOSE, True))
    yard.at(TOUCH, EnterObstruction("hand", "front", 3e6, 5.0, True))
    yard.until(2e7)
    (began,) = yard.all(ContactBegan)
    assert (began.at, began.event.x) == (TOUCH, pytest.approx(2e6))
    assert yard.instants(EdgeActuated)[0] == pytest.approx(TOUCH + (10_000 + 60_000 / 5) / 0.3, abs=1e-3)


def test_a_push_that_ends_at_the_touch_is_a_contact_without_force(yard: Any) -> None:
    yard.at(0, EnterObstruction("post", "front", 3.9e6, None, True))
    yard.at(1, PushLeaf(Direction.CLOSING, 500_000.0, 0.3, "hand"))
    yard.until(1e7)
    assert yard.instants(ContactBegan) == yard.instants(LeafStopped)
    assert yard.all(ForcePeaked) == yard.all(ForceRose) == []


def test_hand_and_leaf_press_the_same_strip(yard: Any, feed: Any) -> None:
    yard.at(10, PressStrip("nose"))
    assert yard.level(StripPressed("nose")) is True
    assert yard.level(StripPressed("tail")) is False
    yard.at(20, EnterObstruction("post", "front", 2e6, None, True), feed(CLOSE, True))
    yard.until(2e7)
    yard.at(20_000_000, ReleaseStrip("nose"))
    assert yard.level(StripPressed("nose")) is True
    yard.at(21_000_000, LeaveObstruction("post"))
    assert yard.instants(EdgeActuated) == [10]
    assert yard.instants(EdgeReleased) == [21_000_000]


def test_nothing_polls(yard: Any, feed: Any) -> None:
    yard.at(0, EnterObstruction("post", "front", 2e6, None, True), feed(CLOSE, True))
    yard.until(1e9)
    # start, motion, full speed, touch, three levels, actuated, brought up, 1400 N, rest
    assert yard.calls <= 11


def test_two_at_once_are_judged_alone_and_together(yard: Any, feed: Any) -> None:
    """60 N at 10 mm and 11 N/mm beyond: the second touched 20 mm after the first."""
    yard.at(0, EnterObstruction("leg", "front", 2e6, None, True), EnterObstruction("arm", "front", 1.98e6, None, True),
            feed(CLOSE, True))
    # Stopped 45 + 45 mm after the order: 35 mm into the first, 15 mm into the second.
    yard.at(TOUCH - 55_000 / 0.3, feed(CLOSE, False))
    yard.until(9e6)
    peaks = {e.event.obstruction: (e.event.force / 1000, e.event.gap) for e in yard.all(ForcePeaked)}
    alone, second = 60 + 11 * 25, 60 + 11 * 5
    assert peaks == {"leg": (pytest.approx(alone), 2e6), "arm": (pytest.approx(second), 1.98e6),
                     "leg + arm": (pytest.approx(alone + second), 1.98e6)}
    assert len({e.at for e in yard.all(ForcePeaked)}) == 1
    together = [e for e in yard.all(ForceRose) if e.event.obstruction == "leg + arm"]
    assert [e.event.level for e in together] == [25e3, 150e3, 400e3]
    # Above 25 and 150 N (170 N of the first) from the second touch on; the contacts are those of the two alone.
    assert together[0].at == together[1].at == yard.all(ContactBegan)[1].at
    assert [e.event.obstruction for e in yard.all(ContactBegan)] == ["leg", "arm"]
    yard.at(9_000_000, feed(OPEN, True))
    yard.until(2e7)
    fell = [e for e in yard.all(ForceFell) if e.event.obstruction == "leg + arm"]
    assert [e.event.level for e in fell] == [400e3, 150e3, 25e3]
    assert fell[-1].at == yard.all(ContactEnded)[0].at
    assert len(yard.all(ContactEnded)) == 2


def test_two_on_different_sides_do_not_add(yard: Any, feed: Any) -> None:
    yard.at(0, EnterObstruction("leg", "front", 2e6, None, True), EnterObstruction("wall", "rear", 4e6, None, True),
            feed(CLOSE, True))
    yard.until(2e7)
    assert {e.event.obstruction for e in yard.all(ForceRose)} == {"leg"}


def test_taken_away_the_sum_ends(yard: Any, feed: Any) -> None:
    yard.at(0, EnterObstruction("leg", "front", 2e6, None, True), EnterObstruction("arm", "front", 2e6, None, True),
            feed(CLOSE, True))
    yard.at(TOUCH - 55_000 / 0.3, feed(CLOSE, False))
    yard.at(8_000_000, LeaveObstruction("leg"))
    fell = [(e.at, e.event.level) for e in yard.all(ForceFell) if e.event.obstruction == "leg + arm"]
    assert fell == [(8_000_000, level) for level in (400e3, 150e3, 25e3)]
    assert yard.all(ContactEnded)[-1].event.obstruction == "leg"
