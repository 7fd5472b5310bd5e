"""What the gate still moves against what the edge still gives: by hand, by an integrator, and laws."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from yard_site import made

from gatesim.events import Direction
from gatesim.plant.site import CurvePoint, LimitOverride, Monitoring, Profile, Site, WiredInput
from gatesim.requirements.force_level import peak_limit
from gatesim.requirements.reach import Reach, Stretch, reaches_of

SITE = made()
NOSE = SITE.edges[0]
CURVE = ((10_000.0, 60_000.0), (30_000.0, 120_000.0), (50_000.0, 600_000.0))


def first(site: Site) -> Reach:
    return next(reaches_of(site))


def with_nose(**other: object) -> Site:
    return replace(SITE, edges=(replace(NOSE, **other), *SITE.edges[1:]))  # type: ignore[arg-type]


def proved(**other: object) -> Site:
    points = tuple(CurvePoint(*point) for point in CURVE)
    return replace(with_nose(curve=points, full_force=600_000.0, **other), limits=Profile.PROVED_FORCE)


def margin(reach: Reach, stretch: Stretch, speed: float) -> float:
    return stretch.give - reach.moved(speed)


def test_every_delay_has_its_name() -> None:
    reach = first(SITE)
    assert [(wait.part, wait.us) for wait in reach.waits] == [
        ("scan", 10_000), ("debounce", 10_000), ("latency", 12_000), ("spread", 0), ("repeats", 45_000),
        ("controller", 0), ("stopping delay", 150_000)]
    # 227 ms x 0.3 m/s + 0.09 / 2 m
    assert reach.moved(0.3) == pytest.approx(68_100 + 45_000)
    wired = WiredInput("nose sender", 5_000, 3, 6, Monitoring.CONTINUOUSLY)
    by_wire = first(replace(SITE, transmitters=SITE.transmitters[1:], wired_inputs=(wired,)))
    assert [(wait.part, wait.us) for wait in by_wire.waits] == [
        ("scan", 5_000), ("debounce", 10_000), ("controller", 0), ("stopping delay", 150_000)]


@pytest.mark.parametrize(("speed", "wait", "deceleration", "moved"), [
    # v t + v^2 / 2a: 450 kg, 0.2 m/s, 380 N, 0.15 s: 53.684 mm; 0.3048 m/s, 0.1 s, 1 m/s2: 0.07693 m (calculated).
    (0.2, 150_000, 380 / 450 * 1e-6, 53_684.2), (0.3048, 100_000, 1e-6, 76_931.5),
])
def test_worked_numbers_and_an_integrator(speed: float, wait: int, deceleration: float, moved: float) -> None:
    reach = first(SITE)._replace(waits=(first(SITE).waits[0]._replace(us=wait),), deceleration=deceleration)
    assert reach.moved(speed) == pytest.approx(moved, abs=0.1)

    def stands(_: float, y: list[float]) -> float:
        return y[1]

    stands.terminal = True  # type: ignore[attr-defined]
    braked = solve_ivp(lambda _, y: [y[1], -deceleration], (0, 1e7), [speed * wait, speed], events=stands, rtol=1e-10,
                       max_step=1e4)
    assert reach.moved(speed) == pytest.approx(braked.y_events[0][0][0], rel=1e-6)


def test_the_heaviest_leaf_is_braked_by_the_same_force() -> None:
    heavy = first(replace(SITE, gate=replace(SITE.gate, heaviest=500.0)))
    assert heavy.deceleration == pytest.approx(1e-6 * 400 / 500)
    geared = replace(SITE, gate=replace(SITE.gate, heaviest=500.0), drive=replace(SITE.drive, reflected_mass=300.0))
    assert first(geared).deceleration == pytest.approx(1e-6 * 700 / 800)


def test_it_gives_to_its_end_where_no_force_is_limited() -> None:
    (whole,) = first(SITE).stretches
    assert (whole.low, whole.high, whole.give) == (0.0, 4e6, 40_000.0)


def test_it_gives_to_the_force_limit_of_the_gap() -> None:
    """400 N below 500 mm (dhf on EN 12453): 30 mm + 20 mm x 280/480 on the curve, less 10 mm; 1400 N: to its end."""
    wide, narrow = first(proved()).stretches
    assert (wide.low, wide.high, wide.give) == (450_000.0, 4e6, 40_000.0)
    assert (narrow.low, narrow.high) == (0.0, 500_000.0)
    assert narrow.give == pytest.approx(20_000 + 20_000 * 280 / 480)
    rear = list(reaches_of(proved()))[1].stretches
    assert [(one.low, one.high) for one in rear] == [(0.0, 3_550_000.0), (3_500_000.0, 4e6)]
    own = replace(proved(), limit_overrides=(LimitOverride("peak-force", "120 N", "survey"),))
    assert peak_limit(own) == 120_000
    assert first(own).stretches[1].give == pytest.approx(20_000)
    assert peak_limit(SITE) is None


def test_age_and_tolerance_take_from_what_it_gives() -> None:
    """Twice as stiff, 400 N stand at 200 N of the curve: 30 mm + 20 mm x 80/480; 10 % late: 11 mm."""
    worst = first(proved(stiffening=0.6, force_tolerance=0.25, travel_tolerance=0.1)).stretches[1]
    assert worst.give == pytest.approx(30_000 + 20_000 * 80 / 480 - 11_000)
    late = first(proved(stiffening=8.0, travel_tolerance=0.5)).stretches[1]
    assert late.give < 0


shares = st.floats(0, 1)


@given(shares, shares, shares, shares, st.floats(0, 9), st.floats(0, 9), st.floats(0.01, 1))
def test_a_higher_tolerance_never_raises_the_margin(f1: float, f2: float, t1: float, t2: float, s1: float, s2: float,
                                                    speed: float) -> None:
    less = first(proved(force_tolerance=min(f1, f2), travel_tolerance=min(t1, t2), stiffening=min(s1, s2)))
    more = first(proved(force_tolerance=max(f1, f2), travel_tolerance=max(t1, t2), stiffening=max(s1, s2)))
    for one, other in zip(less.stretches, more.stretches, strict=True):
        assert margin(more, other, speed) <= margin(less, one, speed) + 1e-6


@given(st.floats(100, 5_000), st.floats(100, 5_000), st.floats(0, 2_000), st.floats(0.01, 1))
def test_more_mass_never_shortens_the_stop(one: float, other: float, reflected: float, speed: float) -> None:
    def moved(heaviest: float) -> float:
        gate, drive = replace(SITE.gate, heaviest=heaviest), replace(SITE.drive, reflected_mass=reflected)
        return first(replace(SITE, gate=gate, drive=drive)).moved(speed)

    assert moved(max(one, other)) >= moved(min(one, other)) * (1 - 1e-12)


@given(st.sampled_from(("sampling", "debounce", "latency", "latency_spread", "event_repeats", "event_spacing")),
       st.integers(1, 50), st.floats(0.01, 1))
def test_a_longer_delay_never_raises_the_margin(field: str, more: int, speed: float) -> None:
    node = SITE.transmitters[0]
    slower = replace(node, **{field: getattr(node, field) + more})
    assert first(replace(SITE, transmitters=(slower, *SITE.transmitters[1:]))).moved(speed) > first(SITE).moved(speed)


def test_an_edge_without_its_input_is_left_out() -> None:
    assert [one.edge for one in reaches_of(replace(SITE, transmitters=SITE.transmitters[1:]))] == ["tail"]
    assert [one.direction for one in reaches_of(SITE)] == [Direction.CLOSING, Direction.OPENING]
