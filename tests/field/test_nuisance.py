"""Nuisance trips: closed forms against one another, and exact where they can be."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gatesim.field.nuisance import MOST_LOSSES, Path, exact_frames_to_trip, frames_to_trip, trip_by, tripped

F = Fraction


def by_hand(path: Path, k: int, frames: int) -> Fraction:
    """The chance of k losses in a row, over every story of states and losses."""
    total = F(0)
    for states in product((0, 1), repeat=frames):
        chance, before = F(1), 0
        for state in states:
            change = path.worse if before == 0 else path.better
            chance *= change if state != before else 1 - change
            before = state
        for fate in product((True, False), repeat=frames):
            if "x" * k not in "".join("x" if lost else "." for lost in fate):
                continue
            here = chance
            for state, lost in zip(states, fate, strict=True):
                loss = path.loss_in_bad if state else path.loss_in_good
                here *= loss if lost else 1 - loss
            total += here
    return total


PATH = Path(F(1, 10), F(1, 7), F(1, 3), F(4, 5))


@pytest.mark.parametrize("k", [1, 2, 3])
@pytest.mark.parametrize("frames", [1, 3, 6])
def test_every_story_counted_gives_the_same(k: int, frames: int) -> None:
    assert trip_by(PATH, k, frames) == by_hand(PATH, k, frames)
    plain = Path(F(1, 10))
    assert trip_by(plain, k, frames) == by_hand(plain, k, frames)
    assert tripped([(F(1, 10), F(4, 5))] * frames, k, F(1, 7), F(1, 3)) == by_hand(PATH, k, frames)


def test_the_mean_is_the_sum_of_the_chances_to_go_on() -> None:
    """E = sum of P(no trip by n)."""
    path, k = Path(0.2, 0.1, 0.3, 0.9), 3
    total = sum(1 - trip_by(path, k, n) for n in range(700))
    assert frames_to_trip(path, k) == pytest.approx(total, rel=1e-9)


def test_two_equal_states_are_one() -> None:
    both = Path(F(1, 5), F(1, 9), F(1, 4), F(1, 5))
    assert frames_to_trip(both, 3) == frames_to_trip(Path(F(1, 5)), 3) == (1 - F(1, 125)) / (F(4, 5) * F(1, 125))
    assert trip_by(both, 3, 8) == trip_by(Path(F(1, 5)), 3, 8)


@given(st.integers(1, 5), st.fractions(F(1, 50), F(1, 2)), st.fractions(F(1, 50), F(1, 2)))
def test_simple_bursts_have_their_own_form(k: int, worse: Fraction, better: Fraction) -> None:
    """Good loses none, bad all: (1/a + (1 - s^(k-1)) / r) / s^(k-1), s = 1 - r."""
    s = 1 - better
    form = (1 / worse + (1 - s ** (k - 1)) / better) / s ** (k - 1)
    assert frames_to_trip(Path(F(0), worse, better, F(1)), k) == form


def test_small_chances_keep_their_digits() -> None:
    # 1 - R(n) would give 0.0 here; the sum of increments gives 8.626366e-15 (calculated twice).
    assert trip_by(Path(0.001), 6, 8640) == pytest.approx(8.626366e-15, rel=1e-6)
    assert exact_frames_to_trip(Path(0.001), 6) == pytest.approx((1 - 1e-18) / (0.999 * 1e-18))


def test_what_never_comes_and_what_comes_at_once() -> None:
    assert frames_to_trip(Path(0.0), 3) is None
    assert frames_to_trip(Path(F(0), F(1, 5), F(1, 5), F(0)), 2) is None
    assert frames_to_trip(Path(1.0), 3) == 3
    assert frames_to_trip(PATH, 0) is None
    assert trip_by(PATH, 0, 5) == 1
    assert trip_by(Path(0.0), 2, 100) == trip_by(PATH, 3, 2) == 0
    assert frames_to_trip(PATH, MOST_LOSSES + 1) is None
    assert trip_by(PATH, MOST_LOSSES + 1, 5) == 0


def test_mean_loss_is_that_of_the_states_shares() -> None:
    assert PATH.share_bad == F(1, 7) / (F(1, 7) + F(1, 3))
    assert PATH.mean_loss == PATH.share_bad * F(4, 5) + (1 - PATH.share_bad) * F(1, 10)


@pytest.mark.parametrize("k", [2, 3, 5])
def test_bursts_trip_sooner_than_the_same_loss_spread_evenly(k: int) -> None:
    path = Path(0.001, 0.01, 0.1, 0.5)
    even = Path(path.mean_loss)
    bursts, spread = frames_to_trip(path, k), frames_to_trip(even, k)
    assert bursts is not None
    assert spread is not None
    assert bursts * 2 < spread
    assert trip_by(path, k, 500) > trip_by(even, k, 500)
