"""Covering arrays, counted anew: every tuple is there, and the arrays are not needlessly long."""

from __future__ import annotations

from itertools import combinations, product
from math import prod

import pytest

from gatesim.search.covering import covering_array

OTHERS = [((5,) * 6, 2, 39), ((5,) * 6, 3, 245), ((3,) * 13, 2, 23), ((3,) * 13, 3, 91)]
"""Rows of two general-purpose generators, the longer of both; measured apart from this project."""


def missing(rows, sizes, t) -> list[tuple[tuple[int, ...], tuple[int, ...]]]:
    """Counted the plain way, apart from the generator."""
    return [
        (places, values)
        for places in combinations(range(len(sizes)), t)
        for values in product(*(range(sizes[k]) for k in places))
        if not any(all(row[k] == value for k, value in zip(places, values, strict=True)) for row in rows)
    ]


@pytest.mark.parametrize(("sizes", "t"), [
    ((2, 2, 2), 1), ((2, 3, 4), 2), ((5,) * 6, 2), ((3,) * 13, 2), ((2,) * 10, 3), ((4, 3, 2, 2, 3), 3), ((3,) * 5, 4)])
def test_no_tuple_is_missing(sizes, t) -> None:
    rows = covering_array(sizes, t)
    assert missing(rows, sizes, t) == []
    assert all(len(row) == len(sizes) for row in rows)
    assert all(0 <= value < size for row in rows for value, size in zip(row, sizes, strict=True))
    # The counter sees what is missing: the last row was made for a tuple that no other has.
    assert missing(rows[:-1], sizes, t)


@pytest.mark.parametrize(("sizes", "t", "longest"), OTHERS)
def test_arrays_are_short(sizes, t, longest) -> None:
    """Never below the product of the t largest factors, nor over the longer of two general-purpose generators."""
    assert prod(sorted(sizes)[-t:]) <= len(covering_array(sizes, t)) <= longest


def test_small_and_odd_cases() -> None:
    assert covering_array((), 2) == [()]
    assert sorted(covering_array((2, 2), 5)) == [(0, 0), (0, 1), (1, 0), (1, 1)]
    assert covering_array((1, 1), 2) == [(0, 0)]
    assert covering_array((2, 3, 4), 2) == covering_array((2, 3, 4), 2)
    for sizes, t in (((2, 2), 0), ((2, 0), 2)):
        with pytest.raises(ValueError, match="no "):
            covering_array(sizes, t)
