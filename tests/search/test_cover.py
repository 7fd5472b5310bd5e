"""Intervals spoken for."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from gatesim.search.cover import Cover

PAIRS = st.lists(st.tuples(st.integers(-5, 40), st.integers(0, 8)), max_size=12)


@given(PAIRS)
def test_it_is_a_set_of_whole_numbers(pairs) -> None:
    cover, known = Cover(0, 30), set()
    for first, length in pairs:
        cover.add(first, first + length)
        known |= {n for n in range(first, first + length + 1) if 0 <= n <= 30}
    missing = [n for n in range(31) if n not in known]
    assert cover.spoken == len(known)
    assert cover.next() == (missing[0] if missing else None)
    assert [n for first, last in cover.gaps() for n in range(first, last + 1)] == missing
    assert all(a[1] + 1 < b[0] for a, b in zip(cover.gaps(), cover.gaps()[1:], strict=False))
    assert cover.share() == len(known) / 31
