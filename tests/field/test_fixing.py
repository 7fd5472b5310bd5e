"""The fixing schedule against the trade's example, and as laws."""

from __future__ import annotations

from itertools import pairwise

import pytest
from field_site import an_edge
from hypothesis import given
from hypothesis import strategies as st

from gatesim.errors import BadUsage
from gatesim.field.fixing import LEAST_SPACING, fixing_of, holes

INCH = 25_400.0


def test_a_48_inch_channel_has_the_five_holes_of_the_trade() -> None:
    # Common practice, no published source: 48 in gives 1, 12.5, 24, 35.5, 47 in.
    places = holes(48 * INCH, 1 * INCH, 11.5 * INCH)
    assert [place / INCH for place in places] == [1, 12.5, 24, 35.5, 47]


def test_a_little_longer_needs_one_more_gap() -> None:
    places = holes(48 * INCH + 10, 1 * INCH, 11.5 * INCH)
    assert len(places) == 6


def test_least_screw_spacing_is_three_diameters() -> None:
    # AISI 1996, E4.1: 3 d; #12 at 0.216 in gives 0.648 in (16.46 mm).
    assert pytest.approx(0.648 * INCH) == LEAST_SPACING
    assert pytest.approx(16.46, abs=0.005) == LEAST_SPACING / 1000


@pytest.mark.parametrize("inches", [1.0, 2.0, 2.6])
def test_too_short_for_two_holes_gives_one_in_the_middle_and_says_so(inches: float) -> None:
    made = fixing_of(an_edge("short", "gap", "node", length=inches * INCH))
    assert made.holes == (inches * INCH / 2,)
    assert made.pitch == 0
    assert "too short" in made.cautions[0]


def test_just_long_enough_gives_two() -> None:
    assert holes(2.7 * INCH, INCH, 11.5 * INCH) == (INCH, pytest.approx(1.7 * INCH))


def test_a_hole_at_the_retaining_screw_is_said() -> None:
    # Common practice, no source: the retaining screw sits 2 in from the bottom.
    made = fixing_of(an_edge("close", "gap", "node", length=20 * INCH, end_distance=2.2 * INCH))
    assert any("retaining screw" in one for one in made.cautions)
    assert not fixing_of(an_edge("usual", "gap", "node", length=48 * INCH)).cautions


def test_holes_too_near_the_ends_are_said() -> None:
    # AISI 1996, E4.2: edge distance at least 3 d.
    made = fixing_of(an_edge("near", "gap", "node", end_distance=10_000.0))
    assert any("nearer to the ends" in one for one in made.cautions)


@pytest.mark.parametrize(("length", "end", "pitch"), [(0.0, INCH, INCH), (INCH, INCH, 0.0), (INCH, -1.0, INCH)])
def test_nonsense_is_refused(length: float, end: float, pitch: float) -> None:
    with pytest.raises(BadUsage):
        holes(length, end, pitch)


lengths = st.integers(1_000, 12_000_000).map(float)
ends = st.integers(0, 200_000).map(float)
pitches = st.integers(20_000, 600_000).map(float)


@given(lengths, ends, pitches)
def test_never_farther_apart_than_the_pitch_and_symmetric(length: float, end: float, pitch: float) -> None:
    places = holes(length, end, pitch)
    assert list(places) == sorted(places)
    for place, mirrored in zip(places, reversed(places), strict=True):
        assert place == pytest.approx(length - mirrored, abs=1e-6)
    if len(places) == 1:
        assert length - 2 * end < LEAST_SPACING
        return
    assert places[0] == end
    assert places[-1] == pytest.approx(length - end, abs=1e-6)
    gaps = [b - a for a, b in pairwise(places)]
    assert max(gaps) <= pitch * (1 + 1e-8)
    assert max(gaps) - min(gaps) < 1e-3
    # One hole fewer would be too few.
    if len(gaps) > 1:
        assert (length - 2 * end) / (len(gaps) - 1) > pitch
