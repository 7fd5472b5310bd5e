"""Clock errors, the watchdog's bound with them, and what they do to a transmitter and a receiver."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gatesim.plant.clocks import (
    error_at,
    fastest,
    greatest_error,
    least_watchdog,
    losses_to_trip,
    slowest,
    stretched,
)
from gatesim.plant.radio_tables import Clock, ClockPoint

PPM = 1e-6
CLOCK = Clock(40 * PPM, (ClockPoint(-40, 150 * PPM), ClockPoint(25, 0.0), ClockPoint(60, 45 * PPM)), 200 * PPM)


@pytest.mark.parametrize(
    ("at", "ppm"), [(-60, 190), (-40, 190), (-7.5, 115), (25, 40), (42.5, 62.5), (60, 85), (99, 85)])
def test_the_error_is_straight_between_its_points(at: float, ppm: float) -> None:
    assert error_at(CLOCK, at) == pytest.approx(ppm * PPM)


def test_no_clock_has_no_error() -> None:
    assert error_at(None, -20) == greatest_error(None) == 0
    assert slowest(900_000, None) == fastest(900_000, None) == 900_000
    assert stretched(900_000, 0.0) == 900_000


def test_the_greatest_error_counts_either_way_and_with_a_low_cell() -> None:
    assert greatest_error(CLOCK) == pytest.approx(390 * PPM)
    assert greatest_error(Clock(-100 * PPM, (ClockPoint(0, 60 * PPM),), 20 * PPM)) == pytest.approx(40 * PPM)
    assert greatest_error(Clock(-100 * PPM, low_battery=50 * PPM)) == pytest.approx(100 * PPM)
    assert slowest(1_000_000, CLOCK) == 1_000_390
    assert fastest(1_000_000, CLOCK) == 999_610


def test_the_bounds_at_their_very_ends() -> None:
    # P 1000, J 50, D 20: 3070 on an absolute grid (an SMT solver), k (P + J) where lateness adds up (model checkers).
    assert [losses_to_trip(t, 1000, 50, 20) for t in (3070, 3069)] == [3, 2]
    assert least_watchdog(3, 1000, 50, 20) == 3070
    assert least_watchdog(3, 10, 1, 0, adds_up=True) == 33
    assert [losses_to_trip(t, 10, 1, 0, adds_up=True) for t in (33, 32, 31)] == [3, 2, 2]
    assert least_watchdog(3, 10, 1, 0) == 31


@given(
    st.integers(1, 6), st.integers(1, 10**8), st.integers(0, 10**6), st.integers(0, 10**6), st.booleans(),
    st.integers(0, 20_000), st.integers(0, 20_000))
def test_the_shortest_watchdog_is_the_shortest(
    k: int, period: int, jitter: int, delay: int, adds_up: bool, sender: int, receiver: int
) -> None:
    """In exact fractions: what is needed is met by it and missed by one less."""
    found = least_watchdog(k, period, jitter, delay, adds_up, sender * PPM, receiver * PPM)
    d1, d2 = Fraction(sender, 10**6), Fraction(receiver, 10**6)
    needed = k * period * (1 + d1) + delay + (k * jitter if adds_up else jitter)
    assert found * (1 - d2) >= needed > (found - 1) * (1 - d2)
    assert losses_to_trip(found, period, jitter, delay, adds_up, sender * PPM, receiver * PPM) >= k
    assert losses_to_trip(found - 1, period, jitter, delay, adds_up, sender * PPM, receiver * PPM) < k


