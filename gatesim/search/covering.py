"""Covering arrays: a few rows in which every combination of values of any t factors stands at least once.

A greedy generator of ours: each row begins with a tuple that is still missing and takes, factor by factor, the value
that covers most of what is missing.  It is no minimal array, and the same for the same input.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import combinations, product

Tuple = tuple[tuple[int, int], ...]
"""(factor, value) pairs, in the order of the factors."""


def covering_array(sizes: Sequence[int], t: int) -> list[tuple[int, ...]]:
    """Rows of values 0 … size - 1, one for each factor, that hold every t-tuple; all combinations where t is larger
    than the number of factors.  ValueError for a t below 1 or a factor without values."""
    if t < 1 or any(size < 1 for size in sizes):
        raise ValueError(f"no {t}-way array over factors of {list(sizes)} values")
    t = min(t, len(sizes))
    if t == 0:
        return [()]
    missing = dict.fromkeys(
        tuple(zip(places, values, strict=True))
        for places in combinations(range(len(sizes)), t)
        for values in product(*(range(sizes[k]) for k in places))
    )
    wanted = Counter(pair for one in missing for pair in one)
    rows = []
    while missing:
        row = _row(sizes, t, missing, wanted)
        for places in combinations(range(len(sizes)), t):
            one = tuple((k, row[k]) for k in places)
            if one in missing:
                del missing[one]
                wanted.subtract(one)
        rows.append(row)
    return rows


def _row(sizes: Sequence[int], t: int, missing: dict[Tuple, None], wanted: Counter[tuple[int, int]]) -> tuple[int, ...]:
    """A row that holds the first missing tuple; among equal values the one that most missing tuples want."""
    chosen = dict(next(iter(missing)))
    for k in range(len(sizes)):
        if k not in chosen:
            chosen[k] = max(range(sizes[k]),
                            key=lambda value: (_gain(chosen, t, k, value, missing), wanted[k, value], -value))
    return tuple(chosen[k] for k in range(len(sizes)))


def _gain(chosen: dict[int, int], t: int, k: int, value: int, missing: dict[Tuple, None]) -> int:
    """How many missing tuples a value completes, together with what is chosen."""
    return sum(
        tuple(sorted((*((one, chosen[one]) for one in others), (k, value)))) in missing
        for others in combinations(sorted(chosen), t - 1)
    )
