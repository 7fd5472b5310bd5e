"""Bursts of loss: the two states per frame and in time."""

from __future__ import annotations

import math

import pytest

from gatesim.plant.burst_state import chain_of
from gatesim.plant.radio_tables import Bursts


def test_per_frame_the_gap_does_not_matter() -> None:
    chain = chain_of(Bursts(good_to_bad=0.01, bad_to_good=0.1))
    for gap in (0, 1, 10**9):
        assert chain.chance_of_bad(False, gap) == pytest.approx(0.01)
        assert chain.chance_of_bad(True, gap) == pytest.approx(0.9)
    assert chain.share_bad == pytest.approx(0.01 / 0.11)


def test_in_time_memory_fades_as_it_should() -> None:
    good, bad = 60_000_000, 400_000
    chain = chain_of(Bursts(mean_good=good, mean_bad=bad))
    share = bad / (good + bad)
    assert chain.share_bad == pytest.approx(share)
    for gap in (0, 1, 15_000, 250_000, 3_000_000):
        kept = math.exp(-(1 / good + 1 / bad) * gap)
        assert chain.chance_of_bad(True, gap) == pytest.approx(share + (1 - share) * kept, abs=1e-11)
        assert chain.chance_of_bad(False, gap) == pytest.approx(share - share * kept, abs=1e-11)
    assert chain.chance_of_bad(True, 60_000_000) == pytest.approx(share)
    assert chain.chance_of_bad(True, 2**60) == share


def test_two_steps_are_one_of_twice_the_length() -> None:
    """The states have no memory but themselves (Chapman-Kolmogorov)."""
    chain = chain_of(Bursts(mean_good=1_000_000, mean_bad=300_000))
    for first, second in ((1, 1), (1_000, 77), (123_456, 654_321)):
        bad = chain.chance_of_bad(True, first)
        both = bad * chain.chance_of_bad(True, second) + (1 - bad) * chain.chance_of_bad(False, second)
        assert both == pytest.approx(chain.chance_of_bad(True, first + second), abs=1e-11)
