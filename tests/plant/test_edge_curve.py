"""An edge's force-deflection curve: the line of two points, many points, stiffer rubber, springs in series."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from gatesim.events import Direction, EnterObstruction
from gatesim.plant import obstruction
from gatesim.plant.curve import deflection_at, force_at, joint
from gatesim.plant.edge_curve import force_on, given_at, points_of
from gatesim.plant.site import CurvePoint, Edge, Site
from gatesim.plant.wires import Block

POINTS = ((2_000.0, 10_000.0), (10_000.0, 60_000.0), (25_000.0, 100_000.0), (40_000.0, 220_000.0),
          (50_000.0, 500_000.0))
"""Soft in the middle and hard at the end, as rubber is; invented."""


def curved(edge: Edge, points: tuple[tuple[float, float], ...] = POINTS, **other: float) -> Edge:
    return replace(edge, curve=tuple(CurvePoint(*point) for point in points), **other)


def block(site: Site, edge: Edge, stiffness: float | None = None, instrument: float | None = None,
          mass: float | None = None) -> Block:
    entered = EnterObstruction("post", "front", 1e6, stiffness, True, mass=mass)
    return obstruction.block_for(entered, site.zones[0], edge, site.drive, 4e6, 400.0, instrument)


def test_without_points_it_is_the_line_of_two(site: Site) -> None:
    assert points_of(site.edges[0]) == ((0.0, 0.0), (10_000.0, 60_000.0), (50_000.0, 500_000.0))
    assert points_of(curved(site.edges[0], ((0.0, 0.0), *POINTS))) == ((0.0, 0.0), *POINTS)


def test_between_and_beyond_the_points(site: Site) -> None:
    points = points_of(curved(site.edges[0]))
    assert [force_on(points, d) for d in (1_000.0, 6_000.0, 32_500.0, 50_000.0, 60_000.0)] == [
        5_000.0, 35_000.0, 160_000.0, 500_000.0, 500_000.0]
    assert [given_at(points, f) for f in (5_000.0, 35_000.0, 160_000.0, 500_000.0, 9e5)] == [
        1_000.0, 6_000.0, 32_500.0, 50_000.0, 50_000.0]


def test_age_cold_and_tolerance_multiply_the_force(site: Site) -> None:
    """16 CFR 1211.12(a)(4)(i): 66.7 N at 25 degC and 177.9 N at -35 degC are limits there; their ratio is 2.667."""
    points = points_of(curved(site.edges[0], stiffening=177.9 / 66.7 - 1), tolerance=0.1)
    assert force_on(points, 10_000.0) == pytest.approx(60_000 * 2.6672 * 1.1, rel=1e-4)
    assert points[-1][0] == 50_000.0


def test_the_block_follows_every_point(site: Site) -> None:
    made = block(site, curved(site.edges[0]))
    assert (made.actuates, made.brought_up, made.overtravel) == (10_000.0, 500_000.0, 40_000.0)
    assert [force_at(made, d) for d, _ in POINTS] == pytest.approx([f for _, f in POINTS])
    assert force_at(made, 50_100.0) == pytest.approx(500_000 + 500 * 100)


@given(st.floats(500, 2e6), st.sampled_from((None, 5.0, 75.0)), st.sampled_from((None, 500.0)))
def test_edge_obstruction_and_instrument_are_springs_in_series(force: float, soft: float | None,
                                                               gauge: float | None) -> None:
    """The deflections of three springs under one force add; the force for a deflection by scipy's root of that sum."""
    site = _site()
    made = block(site, curved(site.edges[0]), soft, gauge)
    points = points_of(curved(site.edges[0]))

    def whole(f: float) -> float:
        rubber = given_at(points, f) + max(f - 500_000.0, 0.0) / 500.0
        return rubber + (f / soft if soft else 0.0) + (f / gauge if gauge else 0.0)

    assert deflection_at(made, force) == pytest.approx(whole(force), rel=1e-9)
    deep = whole(force)
    assert force_at(made, deep) == pytest.approx(brentq(lambda f: whole(f) - deep, 0.0, 3e6), rel=1e-6)
    assert made.actuates == pytest.approx(whole(60_000.0), rel=1e-9)


def _site() -> Site:
    from gatesim.plant.site import ControllerTable, Drive, Gate, GateKind, WithoutPower, Zone

    drive = Drive(0.3, 0.3, 0.1, 3e5, 5e-7, 2.5e-7, 100_000, 150_000, 1e-6, 1e6, 3e5, 50_000, 700_000, 25e3, 5e3,
                  WithoutPower.HELD)
    edge = Edge("nose", "front", "in", 8_200.0, 6e3, 1e4, 2e4, 1.0, 50.0, 1.5e6, 1e4, 6e4, 4e4, 5e5)
    return Site("yard", Gate(GateKind.SLIDING, 4e6, 400.0, 1e5), drive, (Zone("front", Direction.CLOSING, 0.0, 4e6),),
                (edge,), ControllerTable(1e6))


@given(st.floats(0, 9), st.floats(0, 9), st.floats(0, 60_000))
def test_a_stiffer_edge_never_has_less_force(one: float, other: float, deep: float) -> None:
    site = _site()
    soft, hard = (block(site, curved(site.edges[0], stiffening=share)) for share in sorted((one, other)))
    assert force_at(hard, deep) >= force_at(soft, deep) * (1 - 1e-12)


def test_of_the_way_onto_a_free_obstruction_a_share_deforms(site: Site, bench: Any) -> None:
    """sqrt(m / (M + m)), so that k (share s)^2 is the energy of the reduced mass: 100 kg against 400 kg: 0.4472."""
    free, fast = block(site, site.edges[0], mass=100.0), block(site, site.edges[0])
    assert (free.share, fast.share) == (pytest.approx(0.2 ** 0.5), 1.0)
    assert force_at(free, 51_000.0) == pytest.approx(500_000 + 500 * 1_000 * 0.2 ** 0.5)
    assert force_at(fast, 51_000.0) == pytest.approx(500_000 + 500 * 1_000)
    box = bench(obstruction.parts(replace(site, drive=replace(site.drive, reflected_mass=300.0)), None))
    box.at(0, EnterObstruction("cart", "front", 1e6, None, True, mass=100.0))
    assert box.level(obstruction.Blocks())[0].share == pytest.approx((100 / 800) ** 0.5)


places = st.lists(st.tuples(st.floats(0.9e6, 1e6), st.sampled_from((None, 5.0, 75.0)), st.booleans()), min_size=2,
                  max_size=4)


@given(places, st.floats(0, 150_000))
def test_together_is_the_sum_wherever_the_leaf_is(entered: list[tuple[float, float | None, bool]], deep: float) -> None:
    site = _site()
    blocks = tuple(obstruction.block_for(EnterObstruction(str(k), "front", where, soft, True), site.zones[0],
                                         curved(site.edges[0]) if edge else None, site.drive, 4e6)
                   for k, (where, soft, edge) in enumerate(entered))
    sums = joint(blocks)
    assert len(sums) == len(blocks) - 1
    whole = sums[-1]
    assert whole.at == min(block.at for block in blocks)
    x = whole.at - deep
    total = sum(force_at(block, block.at - x) for block in blocks)
    assert force_at(whole, deep) == pytest.approx(total if deep > 0 else 0.0, rel=1e-9, abs=1e-6)
    if deep > 1:
        assert deflection_at(whole, total) == pytest.approx(deep, rel=1e-6)


def test_one_alone_is_not_together(site: Site) -> None:
    other = block(site, site.edges[0])._replace(direction=Direction.OPENING)
    assert joint(()) == joint((other,)) == joint((block(site, site.edges[0]), other)) == ()
