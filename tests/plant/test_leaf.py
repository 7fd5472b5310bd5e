"""The leaf in the world: driven, stopped, turned, brought up, sprung back, pushed, without power."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from gatesim.events import (
    Brake,
    Direction,
    EnterObstruction,
    LeafPushed,
    LeafStarted,
    LeafStopped,
    LeaveObstruction,
    MotionChanged,
    PushLeaf,
)
from gatesim.plant import leaf, obstruction
from gatesim.plant.curve import force_at
from gatesim.plant.motion import at
from gatesim.plant.site import Site, WithoutPower
from gatesim.plant.wires import (
    Blocks,
    BrakeOrder,
    Contactor,
    Deceleration,
    DriveDirection,
    MainContact,
    Motion,
    Order,
    Piece,
    Supply,
)
from gatesim.plant.world import World

OPEN, CLOSE = Contactor("opening"), Contactor("closing")


@pytest.fixture
def yard(site: Site, bench: Any) -> Any:
    """The leaf, open, and the obstructions; contactors fed by hand."""
    return bench([*leaf.parts(site, None), *obstruction.parts(site, None)])


def place(yard: Any, now: float) -> tuple[float, float]:
    """Where the leaf is, and how fast."""
    return at(yard.level(Motion()), now)


def test_closing_all_the_way(yard: Any, feed: Any, site: Site) -> None:
    yard.at(0)
    yard.at(1_000_000, feed(CLOSE, True))
    yard.until(60e6)
    # start delay 0.1 s; 0.6 s up to 0.3 m/s (90 mm); 0.8 s down to 0.1 m/s (160 mm); 3 s creep over 300 mm.
    cruise = (4_000 - 300 - 90 - 160) / 0.3 * 1e3
    assert yard.instants(LeafStarted) == [1_100_000]
    assert yard.instants(LeafStopped) == pytest.approx([1_100_000 + 600_000 + cruise + 800_000 + 3_000_000], abs=1e-3)
    assert yard.all(LeafStopped)[0].event.x == 0.0
    assert [e.event.direction for e in yard.all(MotionChanged)] == [None] + [Direction.CLOSING] * 4 + [None]
    assert yard.calls <= 8


def test_still_energised_at_the_stop_stays(yard: Any, feed: Any) -> None:
    yard.at(0, feed(CLOSE, True))
    yard.until(60e6)
    before = len(yard.log)
    yard.at(61e6, feed(Order(), (Direction.CLOSING, True)))
    assert len(yard.until(70e6)) == before


def test_stop_and_turn(yard: Any, feed: Any) -> None:
    yard.at(0, feed(CLOSE, True))
    yard.at(5_000_000, feed(CLOSE, False))
    x0, v0 = place(yard, 5e6)
    assert v0 == pytest.approx(-0.3)
    yard.until(10e6)
    stopped = yard.all(LeafStopped)[0]
    assert stopped.at == pytest.approx(5_000_000 + 150_000 + 300_000, abs=1e-3)
    assert x0 - stopped.event.x == pytest.approx(0.3 * 150_000 + 0.09 / 2e-6)
    yard.at(10_000_000, feed(OPEN, True))
    yard.until(11e6)
    assert [(e.at, e.event.direction) for e in yard.all(LeafStarted)] == [
        (100_000, Direction.CLOSING), (10_100_000, Direction.OPENING)]


def test_opposite_while_moving_brakes_at_once_then_waits_the_start_delay(yard: Any, feed: Any) -> None:
    yard.at(0, feed(CLOSE, True))
    yard.at(5_000_000, feed(CLOSE, False), feed(OPEN, True))
    yard.until(6e6)
    assert yard.instants(LeafStopped) == pytest.approx([5_300_000], abs=1e-3)
    assert yard.instants(LeafStarted)[1] == pytest.approx(5_400_000, abs=1e-3)


def test_the_start_delay_after_turning_is_not_shortened_by_news(yard: Any, feed: Any) -> None:
    yard.at(0, feed(CLOSE, True))
    yard.at(5_000_000, feed(CLOSE, False), feed(OPEN, True))
    yard.at(5_350_000, feed(Order(), (Direction.OPENING, True)))
    yard.until(6e6)
    assert yard.instants(LeafStarted)[1] == pytest.approx(5_400_000, abs=1e-3)


def test_denergised_within_the_start_delay_never_moves(yard: Any, feed: Any) -> None:
    yard.at(0, feed(CLOSE, True))
    yard.at(99_999, feed(CLOSE, False))
    yard.until(1e7)
    assert yard.all(LeafStarted) == []


def test_same_way_again_while_stopping_goes_on_from_its_speed(yard: Any, feed: Any) -> None:
    yard.at(0, feed(CLOSE, True))
    yard.at(5_000_000, feed(CLOSE, False))
    yard.at(5_300_000, feed(CLOSE, True))
    assert place(yard, 5_300_000)[1] == pytest.approx(-0.15)
    assert place(yard, 5_600_000)[1] == pytest.approx(-0.3)
    assert yard.all(LeafStopped) == []


def test_slow_order_slows_and_is_let_go_again(yard: Any, feed: Any) -> None:
    yard.at(0, feed(CLOSE, True))
    yard.at(3_000_000, feed(Order(), (Direction.CLOSING, True)))
    assert place(yard, 3_800_000)[1] == pytest.approx(-0.1)
    yard.at(4_000_000, feed(Order(), (Direction.CLOSING, False)))
    assert place(yard, 4_400_000)[1] == pytest.approx(-0.3)


@pytest.mark.parametrize("wires", [[(CLOSE, False)], [(MainContact(), False)], [(OPEN, True)], [(Supply(), False)]],
                         ids=["contactor", "main", "both contactors", "supply"])
def test_all_ways_to_lose_thrust_stop_alike(yard: Any, feed: Any, wires: Any) -> None:
    yard.at(0, feed(CLOSE, True))
    yard.at(5_000_000, *(feed(wire, level) for wire, level in wires))
    yard.until(7e6)
    assert yard.instants(LeafStopped) == pytest.approx([5_450_000], abs=1e-3)


def test_a_stop_is_not_begun_anew_by_more_of_it(yard: Any, feed: Any) -> None:
    yard.at(0, feed(CLOSE, True))
    yard.at(5_000_000, feed(CLOSE, False))
    yard.at(5_100_000, feed(MainContact(), False))
    yard.at(5_200_000, feed(Supply(), False))
    yard.until(7e6)
    assert yard.instants(LeafStopped) == pytest.approx([5_450_000], abs=1e-3)


def test_coasting_without_power(site: Site, bench: Any, feed: Any) -> None:
    free = replace(site, drive=replace(site.drive, without_power=WithoutPower.COASTING))
    yard = bench([*leaf.parts(free, None), *obstruction.parts(free, None)])
    yard.at(0, feed(CLOSE, True))
    yard.at(5_000_000, feed(Supply(), False))
    yard.until(9e6)
    assert yard.instants(LeafStopped) == pytest.approx([5_000_000 + 0.3 / 0.15e-6], abs=1e-3)


def test_a_weak_brake_stops_later(yard: Any, feed: Any, site: Site, bench: Any) -> None:
    worn = bench([leaf.Leaf(site.gate, site.drive, site.leaf_at)])
    worn.at(0, feed(CLOSE, True))
    worn.at(5_000_000, feed(CLOSE, False), feed(Deceleration(), 0.2e-6))
    worn.until(9e6)
    assert worn.instants(LeafStopped) == pytest.approx([5_150_000 + 1_500_000], abs=1e-3)


def test_drive_wired_the_wrong_way_round(site: Site, bench: Any, feed: Any) -> None:
    wrong = bench([leaf.Leaf(site.gate, site.drive, 2_000_000.0)])
    wrong.at(0, feed(CLOSE, True), feed(DriveDirection(), False))
    wrong.until(1e6)
    assert wrong.all(LeafStarted)[0].event.direction is Direction.OPENING


def blocked(yard: Any, feed: Any, edge: bool = False, stiffness: float | None = None) -> None:
    """Closing at full speed onto an obstruction at 2 m."""
    yard.at(0, EnterObstruction("post", "front", 2_000_000.0, stiffness, edge), feed(CLOSE, True))


def test_brought_up_on_a_bare_place(yard: Any, feed: Any) -> None:
    """1000 N stall on 500 N/mm: 2 mm at full speed, then sqrt(k m v^2) more: 400 kg, 0.3 m/s: 4242.6 N, 8.485 mm."""
    blocked(yard, feed)
    yard.until(20e6)
    stopped = yard.all(LeafStopped)[0]
    deep = 2_000_000 - stopped.event.x
    assert deep / 1000 == pytest.approx(2 + 8.485, abs=1e-3)
    assert (deep - 2_000) * 0.5 == pytest.approx((500e3 * 400 * 0.09) ** 0.5, rel=1e-9)


def test_rotor_and_gear_strike_too_and_a_free_obstruction_gives_way(site: Site, bench: Any, feed: Any) -> None:
    """sqrt(k m v^2) beyond the stall force: 500 N/mm, 0.3 m/s; 400 + 225 kg: 5303.3 N; against 100 free kg 86.2 kg
    count, M m / (M + m) (ISO/TS 15066 Annex A, from memory).  Beyond the stall force, reached after 2 mm, or 4.47 mm
    where a fifth of the mass is free, the leaf's way is that onto one that stands fast."""
    def struck(mass: float | None, reflected: float) -> tuple[float, float]:
        here = replace(site, drive=replace(site.drive, reflected_mass=reflected))
        made = bench([*leaf.parts(here, None), *obstruction.parts(here, None)])
        made.at(0, EnterObstruction("post", "front", 2e6, None, False, mass=mass), feed(CLOSE, True))
        made.until(20e6)
        (block,), deep = made.level(Blocks()), 2_000_000 - made.all(LeafStopped)[0].event.x
        return force_at(block, deep) - 1e6, deep

    assert struck(None, 225.0)[0] / 1000 == pytest.approx((500e3 * 625 * 0.09) ** 0.5, rel=1e-9)
    assert struck(100.0, 225.0)[0] / 1000 == pytest.approx((500e3 * 625 * 100 / 725 * 0.09) ** 0.5, rel=1e-9)
    assert struck(100.0, 0.0)[0] < struck(300.0, 0.0)[0] < struck(None, 0.0)[0]
    assert struck(100.0, 0.0)[1] - 2_000 * 5 ** 0.5 == pytest.approx(struck(None, 0.0)[1] - 2_000, rel=1e-9)


def test_a_self_locking_gear_keeps_the_squeeze_and_the_leaf(site: Site, bench: Any, feed: Any) -> None:
    locking = replace(site, drive=replace(site.drive, self_locking=True))
    made = bench([*leaf.parts(locking, None), *obstruction.parts(locking, None)])
    blocked(made, feed)
    made.until(20e6)
    before = len(made.log)
    made.at(20_000_000, feed(CLOSE, False), feed(BrakeOrder(), Brake.RELEASE))
    made.at(30_000_000, PushLeaf(Direction.OPENING, 500_000.0, 0.3, "hand"))
    assert len(made.until(40e6)) == before
    made.at(40_000_000, feed(OPEN, True))
    assert made.until(60e6)[before].event.direction is Direction.OPENING


def test_standing_pressed_against_it_the_drive_does_not_move_it(yard: Any, feed: Any) -> None:
    blocked(yard, feed)
    yard.until(20e6)
    before = len(yard.log)
    yard.at(20_000_000, feed(CLOSE, False))
    yard.at(21_000_000, feed(CLOSE, True))
    assert len(yard.until(40e6)) == before


def test_ordered_stop_during_the_bringing_up_does_not_prolong_it(yard: Any, feed: Any) -> None:
    blocked(yard, feed)
    yard.until(20e6)
    stop = yard.all(LeafStopped)[0]
    begun = [e.at for e in yard.all(MotionChanged)][-2]
    other = yard.fork()
    other.world = World(yard.plant, 1)
    blocked(other, feed)
    other.at(begun + (stop.at - begun) / 3, feed(CLOSE, False))
    other.until(20e6)
    again = other.all(LeafStopped)[0]
    assert again.at == pytest.approx(stop.at, abs=1e-3)
    assert again.event.x == pytest.approx(stop.event.x, abs=1e-6)


def test_an_ordered_stop_that_ends_sooner_holds(yard: Any, feed: Any) -> None:
    blocked(yard, feed, edge=True)
    touch = 100_000 + 600_000 + (2_000 - 90) / 0.3 * 1e3
    yard.at(touch - 200_000, feed(CLOSE, False))
    yard.until(20e6)
    # 45 mm + 45 mm of stopping from 60 mm before touch: 30 mm into an edge that gives 50 mm.
    assert yard.all(LeafStopped)[0].event.x == pytest.approx(2_000_000 - 30_000, abs=1e-2)


def test_obstruction_taken_away_while_pressed_lets_the_drive_go_on(yard: Any, feed: Any) -> None:
    blocked(yard, feed)
    yard.until(20e6)
    yard.at(20_000_000, LeaveObstruction("post"))
    yard.until(60e6)
    assert yard.instants(LeafStarted) == [100_000, 20_000_000]
    assert yard.all(LeafStopped)[-1].event.x == 0.0


def test_released_it_springs_back_to_the_running_resistance(yard: Any, feed: Any) -> None:
    blocked(yard, feed)
    yard.until(20e6)
    deep = 2_000_000 - yard.all(LeafStopped)[0].event.x
    force = deep * 500  # mN on a bare place: 500 mN/um from first touch
    yard.at(20_000_000, feed(CLOSE, False), feed(BrakeOrder(), Brake.RELEASE))
    yard.until(30e6)
    end = yard.all(LeafStopped)[1]
    assert (2_000_000 - end.event.x) * 500 == pytest.approx(100_000, rel=1e-6)
    rate = (force - 100_000) / (2 * 400 * 1e9)
    assert end.at - 20e6 == pytest.approx(2 * ((end.event.x - 2_000_000 + deep) / rate) ** 0.5, rel=1e-9)
    assert yard.all(LeafStarted)[-1].event.direction is Direction.OPENING
    before = len(yard.log)
    yard.at(31e6, feed(MainContact(), False))
    yard.at(32e6, feed(Supply(), False))
    assert len(yard.until(40e6)) == before


def test_pushed_by_hand(yard: Any, feed: Any) -> None:
    yard.at(1_000_000, PushLeaf(Direction.CLOSING, 500_000.0, 0.3, "hand"))
    yard.until(10e6)
    # 0.6 s up (90 mm), 320 mm at speed, 0.6 s down
    assert yard.instants(LeafStopped) == pytest.approx([1_000_000 + 1_200_000 + 320 / 0.3 * 1e3], abs=1e-3)
    assert yard.all(LeafStopped)[0].event.x == pytest.approx(3_500_000)
    assert [e.event.by for e in yard.all(LeafPushed)] == ["hand"]


def test_push_ends_at_an_obstruction_and_not_beyond(yard: Any) -> None:
    yard.at(0, EnterObstruction("post", "front", 3_800_000.0, None, False))
    yard.at(1_000_000, PushLeaf(Direction.CLOSING, 500_000.0, 0.3, "wind"))
    yard.at(1_200_000, EnterObstruction("cart", "front", 3_850_000.0, None, False))
    yard.until(10e6)
    assert yard.all(LeafStopped)[0].event.x == 3_850_000.0
    yard.at(11_000_000, PushLeaf(Direction.CLOSING, 500_000.0, 0.3, "wind"))
    yard.until(20e6)
    assert len(yard.all(LeafPushed)) == 1


def test_push_against_an_energised_drive_has_no_effect(yard: Any, feed: Any) -> None:
    yard.at(0, feed(CLOSE, True), PushLeaf(Direction.CLOSING, 500_000.0, 0.3, "hand"))
    assert yard.until(50_000)
    assert yard.all(LeafPushed) == []


def test_start_run_and_stop_against_integrator(yard: Any, feed: Any, site: Site) -> None:
    """Start, run, stop on order: the same way by integrating thrust and brake with scipy."""
    yard.at(0, feed(CLOSE, True))
    yard.at(2_345_678, feed(CLOSE, False))
    yard.until(5e6)

    def force(t: float, y: list[float]) -> list[float]:
        a = 0.0
        if 100_000 <= t < 2_345_678:
            a = 0.5e-6 if y[1] < 0.3 else 0.0
        elif t >= 2_345_678 + 150_000:
            a = -1e-6 if y[1] > 0 else 0.0
        return [y[1], a]

    found = solve_ivp(force, (0, 5e6), [0.0, 0.0], max_step=500, rtol=1e-6, atol=[1e-2, 1e-9])
    assert 4_000_000 - yard.all(LeafStopped)[0].event.x == pytest.approx(found.y[0][-1], rel=2e-4)


@settings(deadline=None, max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(fork=st.integers(0, 9_000_000), more=st.integers(1, 9_000_000))
def test_fork_in_mid_move_has_the_same_future(site: Site, bench: Any, feed: Any, fork: int, more: int) -> None:
    yard = bench([*leaf.parts(site, None), *obstruction.parts(site, None)])
    yard.at(0, EnterObstruction("post", "front", 2_000_000.0, 20.0, True), feed(CLOSE, True))
    yard.until(fork)
    branch = yard.fork()
    assert branch.world == yard.world
    known = len(yard.log)
    for one in (branch, yard):
        one.at(fork + more, feed(CLOSE, False), feed(OPEN, True))
        one.until(40e6)
    assert branch.log == yard.log[known:]
    assert branch.world == yard.world


@settings(deadline=None, max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=st.lists(st.tuples(st.integers(0, 4_000_000), st.sampled_from(range(9))), min_size=1, max_size=12),
       start=st.floats(0, 4_000_000))
def test_whatever_happens_the_motion_is_continuous(site: Site, bench: Any, feed: Any, steps: Any, start: float) -> None:
    """Position never jumps, speed jumps to rest only (end stop, touch by a push), no piece turns without a stand."""
    here = replace(site, leaf_at=start)
    yard = bench([*leaf.parts(here, None), *obstruction.parts(here, None)])
    give = [feed(OPEN, True), feed(OPEN, False), feed(CLOSE, True), feed(CLOSE, False), feed(MainContact(), False),
            feed(BrakeOrder(), Brake.RELEASE), EnterObstruction("post", "front", 2_000_000.0, None, True),
            LeaveObstruction("post"), PushLeaf(Direction.OPENING, 300_000.0, 0.3, "hand")]
    now = 0
    yard.at(0)
    for wait, which in steps:
        now += wait
        yard.at(now, give[which])
    yard.until(now + 60e6)
    told = yard.all(MotionChanged)
    # A released leaf springs back from at most 500 N + 4242.6 N, 58.5 mm deep: sqrt(4642.6 N / 2 m * 58.5 mm).
    fastest = 0.583 if any(which == 5 for _, which in steps) else 0.3
    for (t0, before), (t1, after) in pairwise(told):
        x, v = at((Piece(t0, before.x, before.v, before.a),), t1)
        assert after.x == pytest.approx(x, abs=1e-2)
        assert after.v == pytest.approx(v, abs=1e-7) or after.direction is None
        assert None in (before.direction, after.direction) or before.direction is after.direction
        assert -1e-3 <= after.x <= 4_000_000 + 1e-3
        assert abs(after.v) <= fastest * (1 + 1e-9)
