"""Laying moments end to end, on little logics whose truth is known."""

from __future__ import annotations

import random

import pytest

from gatesim.search.classes import Class, Reaction, Told
from gatesim.search.moments import Coverage, grid, lay
from gatesim.search.traced import Traced

LIMIT = 1000


def always(_: int) -> bool:
    return True


def safe(measured) -> Told:
    return Told(Class.SAFE, Reaction("reaction", measured, LIMIT))


def sampled_every_100(moment) -> Told:
    """Seen at the first multiple of 100 at or after it."""
    n = moment // 100
    seen = n * 100 if n * 100 >= moment else n * 100 + 100
    return safe(seen - moment + 50)


def test_one_run_speaks_for_all_periods() -> None:
    laid = lay(0, 99_999, 100, sampled_every_100, always)
    assert laid.coverage is Coverage.EXACT
    assert (laid.worst.measured, laid.bound) == (149, 149)
    assert laid.worst.at % 100 == 1
    assert laid.gaps == ()
    assert sum(laid.classes.values()) == 100_000
    assert laid.runs <= 6


def windows(count: int, width: int, seed: int) -> list[int]:
    chance = random.Random(seed)
    return sorted(chance.sample(range(0, 1_000_000, 2 * width), count))


@pytest.mark.parametrize("width", [200, 1])
def test_every_planted_window_is_found(width) -> None:
    begins = windows(20, width, 7)

    def prober(moment) -> Told:
        for begin in begins:
            if moment >= begin and moment < begin + width:
                return Told(Class.UNSAFE, None, "missed: in a window")
        return safe(100)

    laid = lay(0, 999_999, 10_000, prober, always)
    assert laid.coverage is Coverage.EXACT
    assert laid.worst.what is Class.UNSAFE
    assert laid.classes[Class.UNSAFE] == 20 * width
    by_grid = grid(range(500, 1_000_000, 1000), prober)
    assert by_grid.classes.get(Class.UNSAFE, 0) < 20
    assert by_grid.coverage is Coverage.SAMPLED
    assert by_grid.bound is None


def test_a_maximum_inside_an_interval() -> None:
    def prober(moment) -> Told:
        off = moment - 40_321
        return safe(900 - off * off)

    laid = lay(0, 99_999, 10_000, prober, always)
    assert (laid.worst.at, laid.worst.measured, laid.bound) == (40_321, 900, 900)
    assert laid.coverage is Coverage.EXACT


def test_a_quadratic_time_decides_where_it_falls() -> None:
    def prober(moment) -> Told:
        return safe(5) if moment * moment < 2_000_000_000 else safe(7)

    laid = lay(0, 99_999, 10_000, prober, always)
    assert laid.coverage is Coverage.EXACT
    assert laid.worst.at == 44_722  # the least whole number above the root of 2e9, 44721.36
    assert laid.runs <= 5


def test_what_leaves_the_model_is_sampled_never_exact() -> None:
    def prober(moment) -> Told:
        return safe(5) if int(moment) % 17 else safe(9)

    laid = lay(0, 200, 10_000, prober, always)
    assert laid.coverage is Coverage.SAMPLED
    assert laid.bound is None
    assert "int()" in laid.why
    assert laid.worst.measured == 9


def test_what_was_not_reached_is_incomplete() -> None:
    laid = lay(0, 99_999, 100_000, sampled_every_100, lambda runs: runs < 4)
    assert laid.coverage is Coverage.INCOMPLETE
    assert laid.bound is None
    assert laid.gaps
    assert "were not reached" in laid.why


def test_a_claim_that_the_plain_run_belies_is_not_exact() -> None:
    def prober(moment) -> Told:
        return safe(5) if type(moment) is int else safe(50)

    laid = lay(0, 100, 10, prober, always)
    assert laid.coverage is Coverage.SAMPLED
    assert "differs" in laid.why
    assert laid.worst.measured == 5


def test_the_graver_class_wins_over_the_longer_time() -> None:
    def prober(moment) -> Told:
        if moment < 50:
            return safe(900)
        return Told(Class.LATENT, None)

    assert lay(0, 100, 10, prober, always).worst.what is Class.LATENT


def test_a_figure_known_at_its_own_moment_only_is_bounded_there() -> None:
    """What changes beyond all bounds beside a moment is what it is at the moment."""
    from math import inf

    def steep(moment):
        measured = Traced(100.0, 1.0, 0.0, moment.path, inf) if isinstance(moment, Traced) else 100.0
        return Told(Class.SAFE, Reaction("stop-obeyed", measured, 1_000))

    laid = lay(5, 7, 10, steep, lambda _: True)
    assert (laid.runs, laid.bound, laid.gaps) == (4, 100, ())
