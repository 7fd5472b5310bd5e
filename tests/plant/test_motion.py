"""Motion in closed form, against worked figures, an independent integrator, and properties."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from gatesim.plant.motion import (
    Ramp,
    at,
    cut,
    first_crossing,
    halt,
    heading,
    index_at,
    marks,
    move,
    next_turn,
    onward,
    push,
    rest,
    settle,
    stop,
)
from gatesim.plant.wires import Piece
from gatesim.units import FOREVER

RAMP = Ramp(target=0.3, slow=0.1, zone=300_000.0, acceleration=0.5e-6, deceleration=0.25e-6)
TRAVEL = 4_000_000.0


def closing_in(pieces: tuple[Piece, ...]) -> None:
    """Each piece begins where and as fast as the last ends, not before it began (an end stop stops at once)."""
    for before, after in pairwise(pieces):
        assert after.t >= before.t
        x, v = at((before,), after.t)
        assert x == pytest.approx(after.x, abs=1e-3)
        assert v == pytest.approx(after.v, abs=1e-9) or heading(after) == 0
        assert not heading(before) * heading(after) < 0


# Worked figures: v t + v^2 / 2a for 450 kg, 0.2 m/s, 380 N, 0.15 s; and 0.3048 m/s, 0.1 s, 1 m/s2.
@pytest.mark.parametrize(("v", "delay", "rate", "way_mm", "seconds"), [
    (0.2, 150_000, 380 / 450 * 1e-6, 53.684, 0.38684),
    (0.3048, 100_000, 1e-6, 76.93, 0.4048),
])
@pytest.mark.parametrize("sign", [1, -1])
def test_stopping_distance(v: float, delay: int, rate: float, way_mm: float, seconds: float, sign: int) -> None:
    end = stop(1_000, 5e5, sign * v, delay, rate)[-1]
    assert (end.x - 5e5) * sign / 1000 == pytest.approx(way_mm, abs=5e-3 if way_mm > 60 else 5e-4)
    assert (end.t - 1_000) / 1e6 == pytest.approx(seconds, abs=1e-5)
    assert end.v == 0 == end.a


def test_stop_without_deceleration_runs_on() -> None:
    assert at(stop(0, 0.0, 0.2, 10, 0.0), 1e6) == (pytest.approx(2e5), 0.2)


def test_spring_peak() -> None:
    """300 kg at 0.3 m/s on 500 N/mm: 3674.2 N and 7.348 mm (energy balance)."""
    give = (1e9 * 300 / 500.0) ** 0.5
    pieces, slowing = halt((Piece(0, 0.0, 0.3, 0.0),), 10_000.0, 1, give)
    assert slowing is not None
    deep = pieces[-1].x - 10_000.0
    assert deep / 1000 == pytest.approx(7.348, abs=5e-4)
    assert deep * 500 / 1000 == pytest.approx(3674.2, abs=0.05)


@pytest.mark.parametrize("sign", [1, -1])
def test_whole_move_by_hand(sign: int) -> None:
    start = 0.0 if sign > 0 else TRAVEL
    bound = TRAVEL - start
    pieces = cut(move(1e6, start, 0.0, sign, TRAVEL, RAMP), bound, sign)
    up, down = 0.3 / 0.5e-6, 0.2 / 0.25e-6
    way_up, way_down = 0.09 / 1e-6, 0.08 / 0.5e-6
    cruise = (TRAVEL - 300_000 - way_up - way_down) / 0.3
    times = [1e6, 1e6 + up, 1e6 + up + cruise, 1e6 + up + cruise + down, 1e6 + up + cruise + down + 3e6]
    assert [piece.t for piece in pieces] == pytest.approx(times, rel=1e-12)
    assert abs(pieces[3].x - bound) == pytest.approx(300_000, abs=1e-6)
    assert pieces[-1] == Piece(pieces[-1].t, bound, 0.0, 0.0)


def integrated(x: float, w: float, ahead: float, ramp: Ramp) -> list[tuple[float, float, float]]:
    """An independent solution: the drive follows the braking curve; (time, way, speed) at each change, to the stop."""
    scale = ahead

    def allowed(s: float) -> float:
        free = max(0.0, ahead - ramp.zone - s)
        return float(min(ramp.target, (min(ramp.slow, ramp.target) ** 2 + 2 * ramp.deceleration * free) ** 0.5))

    out, t, s = [(0.0, 0.0, w)], 0.0, 0.0
    # Speeding up until the braking curve or the full speed is met.
    phases = [(ramp.acceleration, lambda _t, y: y[1] - allowed(y[0])),
              (0.0, lambda _t, y: y[1] - allowed(y[0]) - 1e-12),
              (-ramp.deceleration, lambda _t, y: y[1] - min(ramp.slow, ramp.target)),
              (0.0, lambda _t, y: y[0] - ahead)]
    for number, (a, event) in enumerate(phases):
        def ends(_t: float, y: list[float], event: object = event) -> float:
            return float(event(_t, y))  # type: ignore[operator]
        ends.terminal = True  # type: ignore[attr-defined]

        def stops(_t: float, y: list[float]) -> float:
            return y[0] - ahead
        stops.terminal = True  # type: ignore[attr-defined]
        if number < 3 and event(0.0, [s, w]) >= 0 and number != 2:
            continue
        if number == 2 and w <= min(ramp.slow, ramp.target):
            continue
        found = solve_ivp(lambda _t, y, a=a: [y[1], a], (t, t + 1e9), [s, w], events=[ends, stops], rtol=1e-10,
                          atol=[1e-6, 1e-13], max_step=scale / max(ramp.target, w) / 50)
        t, s, w = float(found.t[-1]), float(found.y[0][-1]), float(found.y[1][-1])
        out.append((t, s, w))
        if s >= ahead - 1e-3:
            break
    return out


@pytest.mark.parametrize(("start", "speed", "ramp"), [
    (0.0, 0.0, RAMP),
    (3_500_000.0, 0.0, RAMP),
    (3_800_000.0, 0.0, RAMP),
    (1_000_000.0, 0.2, RAMP),
    (0.0, 0.0, RAMP._replace(target=0.08)),
], ids=["whole", "triangular", "inside the slow zone", "from speed", "slower than slow"])
def test_against_integrator(start: float, speed: float, ramp: Ramp) -> None:
    pieces = cut(move(0.0, start, speed, 1, TRAVEL, ramp), TRAVEL, 1)
    for t, way, w in integrated(start, speed, TRAVEL - start, ramp):
        x, v = at(pieces, t - 1e-3)
        assert x == pytest.approx(start + way, abs=2.0)
        assert v == pytest.approx(w, abs=1e-5)
    assert pieces[-1].t == pytest.approx(integrated(start, speed, TRAVEL - start, ramp)[-1][0], abs=5)


speeds = st.floats(0.02, 0.6)
rates = st.floats(0.05e-6, 3e-6)
ramps = st.builds(Ramp, speeds, speeds, st.floats(0, 1e6), rates, rates)
places = st.floats(0, TRAVEL).map(lambda x: round(x, 3))  # a nanometre is as fine as anything gets


@st.composite
def plans(draw: st.DrawFn) -> tuple[Piece, ...]:
    """A drive's move, a stop or a push, from anywhere, cut at the end stop."""
    sign, x, t = draw(st.sampled_from([1, -1])), draw(places), draw(st.floats(0, 1e9))
    bound = TRAVEL if sign > 0 else 0.0
    kind = draw(st.integers(0, 2))
    if kind == 0:
        made = move(t, x, sign * draw(st.sampled_from([0.0, 0.05, 0.3])), sign, TRAVEL, draw(ramps))
    elif kind == 1:
        made = stop(t, x, sign * draw(speeds), draw(st.integers(0, 500_000)), draw(rates))
    else:
        made = push(t, x, sign, draw(st.floats(0, 3e6).map(lambda d: round(d, 3))), draw(speeds), 0.5e-6)
    return cut(made, bound, sign)


@settings(deadline=None, max_examples=200)
@given(plans())
def test_plans_are_whole(pieces: tuple[Piece, ...]) -> None:
    closing_in(pieces)
    for piece in pieces:
        assert -1e-6 <= piece.x <= TRAVEL + 1e-6
    last = pieces[-1]
    assert heading(last) == 0 or last.v != 0


@settings(deadline=None, max_examples=200)
@given(ramps, places, st.sampled_from([1, -1]), st.floats(0, 0.6))
def test_speed_keeps_its_bounds(ramp: Ramp, x: float, sign: int, speed: float) -> None:
    pieces = cut(move(0.0, x, sign * speed, sign, TRAVEL, ramp), TRAVEL if sign > 0 else 0.0, sign)
    highest = max(ramp.target, speed)
    begins = TRAVEL - ramp.zone if sign > 0 else ramp.zone
    for piece in pieces:
        assert piece.v * sign >= 0
        assert abs(piece.v) <= highest * (1 + 1e-12)
    entry = first_crossing(pieces, begins, 0.0, sign)
    free = (begins - x) * sign
    slow = min(ramp.slow, ramp.target)
    if entry < FOREVER and free > max(0.0, (speed * speed - slow * slow) / (2 * ramp.deceleration)) + 1:
        assert abs(at(pieces, entry)[1]) <= slow * (1 + 1e-9) + 1e-9


@settings(deadline=None, max_examples=300)
@given(plans(), places, st.floats(0, 1.2), st.sampled_from([1, -1]))
def test_first_crossing_is_the_first(pieces: tuple[Piece, ...], x: float, share: float, sign: int) -> None:
    start = pieces[0].t
    span = max(pieces[-1].t - start, 1.0)
    after = start + share * span
    found = first_crossing(pieces, x, after, sign)
    until = min(found, after + span)
    for k in range(201):
        t = after + (until - after) * k / 200
        if t < found:
            past = (at(pieces, t)[0] - x) * sign
            assert past < 1e-3 or heading(pieces[index_at(pieces, t)]) != sign
    if found < FOREVER:
        assert found >= after
        assert (at(pieces, found)[0] - x) * sign >= -1e-3


def test_crossing_exactly_at_a_stand_counts_once() -> None:
    pieces = push(0.0, 0.0, 1, 100_000.0, 0.3, 0.5e-6)
    end = pieces[-1].t
    assert first_crossing(pieces, 100_000.0, 0.0, 1) == end
    assert first_crossing(pieces, 100_000.0, 0.0, 1, beyond=True) == FOREVER
    assert first_crossing(pieces, 100_000.0, end, 1) == FOREVER


@pytest.mark.parametrize("sign", [1, -1])
def test_marks_go_up_and_down(sign: int) -> None:
    out = push(0.0, 0.0, sign, 100_000.0, 0.3, 0.5e-6)
    mark = marks(sign, (0.0, sign * 50_000.0, sign * 100_000.0), rest(0.0, 0.0), 0.0)
    assert mark.passed == 1
    mark = settle(mark, out, 0.0)
    seen = []
    while mark.due < FOREVER:
        now = mark.due
        mark = settle(mark, out, now)
        seen.append(mark.passed)
    assert seen == [2, 3]
    back = push(now, sign * 100_000.0, -sign, 200_000.0, 0.3, 0.5e-6)
    mark = settle(mark, back, now)
    while mark.due < FOREVER:
        now = mark.due
        mark = settle(mark, back, now)
        seen.append(mark.passed)
    assert seen == [2, 3, 2, 1, 0]


@settings(deadline=None, max_examples=100)
@given(plans(), st.floats(0, 1))
def test_onward_is_the_same_motion(pieces: tuple[Piece, ...], share: float) -> None:
    now = pieces[0].t + share * (pieces[-1].t - pieces[0].t)
    left = onward(pieces, now)
    for later in (0.0, 1e5, 1e6, 1e7):
        assert at(left, now + later) == pytest.approx(at(pieces, now + later), abs=1e-3)
    assert next_turn(left, now) == next_turn(pieces, now)


def test_halt_lets_a_sooner_stop_hold() -> None:
    stopping = stop(0.0, 0.0, 0.1, 0, 1e-6)
    assert halt(stopping, 4_999.0, 1, 1e6) == (stopping, None)
    braked, slowing = halt(stopping, 1_000.0, 1, 1_000.0)
    assert slowing is not None
    assert braked[-1].x < stopping[-1].x


def test_halt_to_a_given_stand() -> None:
    pieces, slowing = halt((Piece(10.0, 100.0, -0.2, 0.0),), 100.0, -1, 0.0, stand=0.0)
    assert slowing == Piece(10.0, 100.0, -0.2, pytest.approx(0.04 / 200))
    assert pieces[-1] == Piece(pytest.approx(1010.0), 0.0, 0.0, 0.0)


def test_leaf_past_the_bound_stands_where_it_is() -> None:
    assert cut((Piece(0.0, 10.0, 0.0, 1e-6),), 5.0, 1) == (Piece(0.0, 10.0, 0.0, 0.0),)
    delayed = (Piece(0.0, 10.0, 0.0, 0.0), Piece(7.0, 10.0, 0.0, 1e-6))
    assert cut(delayed, 5.0, 1) == delayed[:1]
