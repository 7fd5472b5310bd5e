"""The link budget: its formulas by hand, obstacles, and the table that a run reads."""

from __future__ import annotations

import math
import sys
from pathlib import Path

import pytest

from gatesim.events import Direction
from gatesim.plant.link_budget import (
    LIGHT,
    along,
    free_space_loss,
    fresnel_radius,
    ground_gain,
    horizontal,
    knife_edge_loss,
    link_at,
    link_of,
    loss_of,
    ray_lengths,
)
from gatesim.plant.radio_tables import Interference, Obstacle

sys.path.insert(0, str(Path(__file__).parent))

from air_bench import M, a_radio

F = 433.92e6
S = 1_000_000


def test_free_space_grows_by_20_db_a_decade_and_6_db_a_double() -> None:
    assert free_space_loss(F, 100) - free_space_loss(F, 10) == pytest.approx(20)
    assert free_space_loss(2 * F, 10) - free_space_loss(F, 10) == pytest.approx(20 * math.log10(2))


def test_two_rays_lie_between_their_sum_and_their_difference() -> None:
    found = [ground_gain(F, d / 10, 1.2, 2.2, 1.0) for d in range(10, 600)]
    # The weaker ray is the longer one, so both can't cancel wholly, and double at most.
    assert max(found) < 20 * math.log10(2)
    assert max(found) > 5.5
    assert min(found) < -10
    assert all(ground_gain(F, d / 10, 1.2, 2.2, 0.0) == 0 for d in range(10, 600))


def test_two_rays_come_to_the_fourth_power_far_away() -> None:
    """d^4 from some crossovers on: 40 log d - 20 log(ht hr) within 0.1 dB at 2 km for heights of 1 m."""
    direct, _ = ray_lengths(2_000, 1, 1)
    ours = free_space_loss(F, direct) - ground_gain(F, 2_000, 1, 1, 1.0)
    assert ours == pytest.approx(40 * math.log10(2_000), abs=0.1)


def test_knife_edge_at_the_line_takes_6_db_and_nothing_well_clear() -> None:
    assert knife_edge_loss(0.0) == pytest.approx(6.03, abs=0.01)
    assert knife_edge_loss(-0.78) == 0
    assert knife_edge_loss(-5) == 0
    rising = [knife_edge_loss(k / 100) for k in range(-100, 300)]
    assert rising == sorted(rising)


def test_the_leaf_carries_the_transmitter_away_or_nearer() -> None:
    away, nearer = a_radio(), a_radio(receiver_lies=Direction.OPENING)
    assert horizontal(away, 0) == horizontal(nearer, 0) == pytest.approx(math.hypot(3, 1))
    assert horizontal(away, 4 * M) == pytest.approx(math.hypot(7, 1))
    assert horizontal(nearer, 4 * M) == pytest.approx(math.hypot(-1, 1))


def test_the_sum_by_hand() -> None:
    # 3.1623 m apart on the ground, 1 m in height: 3.3166 m; 20 log10(4 pi 3.3166 f / c) = 35.610 dB.
    place = link_at(a_radio(transmitter_gain=-5.0, receiver_gain=2.0), 0.0)
    free = 20 * math.log10(4 * math.pi * math.sqrt(11) * F / LIGHT)
    assert place.free_space == pytest.approx(free) == pytest.approx(35.61, abs=0.01)
    assert place.received == pytest.approx(-20 - 5 + 2 - free)
    assert place.margin == pytest.approx(place.received + 90)
    assert place.shadows == ()


def test_obstacles_stand_in_their_stretch_only_and_add_up() -> None:
    van = Obstacle("van", 1 * M, 2 * M, loss=7.0)
    rack = Obstacle("rack", 1.5 * M, 3 * M, loss=4.0)
    radio = a_radio(obstacles=(van, rack))
    clear = a_radio()
    for x, taken in ((0.9, 0), (1.0, 7), (1.4, 7), (1.5, 11), (2.0, 11), (2.1, 4), (3.1, 0)):
        assert link_at(clear, x * M).margin - link_at(radio, x * M).margin == pytest.approx(taken), x


def test_a_post_takes_more_the_nearer_the_line_and_a_van_the_higher() -> None:
    def taken(**other: float) -> float:
        radio = a_radio(obstacles=(Obstacle("it", 0, 4 * M, from_receiver=1.5 * M, **other),))
        return sum(one.loss for one in link_at(radio, 2 * M).shadows)

    by_gap = [taken(gap=gap * 1e5) for gap in range(12)]
    assert by_gap == sorted(by_gap, reverse=True)
    assert by_gap[0] == pytest.approx(6.03, abs=0.01)
    by_height = [taken(height=height * M) for height in (0.5, 1.5, 2.0, 2.5, 3.0)]
    assert by_height == sorted(by_height)
    assert by_height[0] == 0
    assert by_height[-1] > 10


def test_the_edge_of_an_obstacle_counts_from_the_straight_line() -> None:
    # Half way of 5.0990 m the line is at (1.2 + 2.2) / 2 m; the first zone there has sqrt(lambda d) / 2.
    far = horizontal(a_radio(), 2 * M)
    radio = a_radio(obstacles=(Obstacle("it", 0, 4 * M, height=2.0 * M, from_receiver=far / 2 * M),))
    found = link_at(radio, 2 * M).shadows[0]
    assert found.reach == pytest.approx(2.0 - 1.7)
    assert found.radius == pytest.approx(math.sqrt(LIGHT / F * far) / 2)
    assert found.radius == fresnel_radius(F, far / 2, far / 2)
    nu = 0.3 * math.sqrt(2 * far / (LIGHT / F * (far / 2) ** 2))
    assert found.loss == pytest.approx(knife_edge_loss(nu))


def test_an_obstacle_beyond_the_transmitter_is_none() -> None:
    radio = a_radio(receiver_lies=Direction.OPENING, receiver_along=4 * M,
                    obstacles=(Obstacle("it", 0, 4 * M, height=3 * M, from_receiver=2 * M),))
    assert link_at(radio, 0.0).shadows
    assert not link_at(radio, 3.5 * M).shadows


def test_loss_is_straight_between_points_and_level_beyond() -> None:
    points = ((0.0, 0.5), (10.0, 0.1), (20.0, 0.0))
    assert [loss_of(points, m) for m in (-50, 0, 5, 10, 15, 20, 99)] == pytest.approx([0.5, 0.5, 0.3, 0.1, 0.05, 0, 0])


def test_the_table_agrees_with_the_sum_and_holds_at_its_ends() -> None:
    radio, travel = a_radio(ground_reflection=1.0), 4.6 * M
    link, places = link_of(radio, travel), along(radio, travel)
    assert len(places) == len(link.margins) == 461
    for k in (0, 17, 230, 460):
        assert link.margin_at(places[k].x, 0) == pytest.approx(places[k].margin)
    worst = max(abs(link.margin_at(k * 1234.5, 0) - link_at(radio, k * 1234.5).margin) for k in range(3700))
    assert worst < 0.05
    assert link.margin_at(-1, 0) == link.margins[0]
    assert link.margin_at(travel + 1, 0) == pytest.approx(link.margins[-1])


def test_a_short_travel_has_a_table_too() -> None:
    link = link_of(a_radio(), 5_000.0)
    assert len(link.margins) == 2
    assert link.margin_at(2_500, 0) == pytest.approx(sum(link.margins) / 2)


def test_interference_comes_and_goes_and_adds_up() -> None:
    radio = a_radio(interference=(Interference("a", 10 * S, 2 * S, 6.0, every=5 * S),
                                  Interference("b", 16 * S, 1 * S, 3.0)))
    link = link_of(radio, 4 * M)
    quiet = link.margins[0]
    for at, taken in ((9.9, 0), (10, 6), (11.9, 6), (12, 0), (15, 6), (16, 9), (16.9, 9), (17, 0), (20.5, 6)):
        assert quiet - link.margin_at(0.0, at * S) == pytest.approx(taken), at
