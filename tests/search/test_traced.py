"""The traced number: its polynomial, its bound, the interval for which a decision stands, and its ways out."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gatesim.plant.grid import first_index, made_by
from gatesim.plant.motion import sqrt
from gatesim.search.path import Path
from gatesim.search.traced import Traced
from gatesim.units import us


def traced(value: float = 10.0, slope: float = 1.0, turn: float = 0.0) -> Traced:
    return Traced(value, slope, turn, Path())


NUMBERS = st.integers(-50, 50).map(float)
STEPS = st.lists(
    st.tuples(st.sampled_from(["+", "-", "*", "/", "r", "sqrt", "own"]), NUMBERS.filter(bool)), min_size=1, max_size=5
)


def lived(steps: list[tuple[str, float]], moment):
    """A little computation on a moment; the decisions that it takes on the way."""
    number, decided = moment, []
    for what, by in steps:
        if what == "+":
            number = number + by
        elif what == "-":
            number = by - number
        elif what == "*":
            number = number * (by / 10)
        elif what == "own":
            number = number * moment / 1000
        elif what == "/":
            number = number / by
        elif what == "r":
            decided.append(number > 1)
            number = by / number if decided[-1] else number
        else:
            decided.append(number > 100)
            number = sqrt(number) if decided[-1] else number
        decided.append(number < by)
        decided.append(number >= 3 * by)
    return number, decided


@given(STEPS, st.integers(1000, 100_000), st.integers(-3000, 3000))
def test_what_a_run_claims_is_so(steps, start, d) -> None:
    path = Path(reach=500.0)
    number, decided = lived(steps, Traced(float(start), 1.0, 0.0, path))
    claim = path.claim(-3000, 3000)
    if not claim.first <= d <= claim.last:
        return
    plain, as_well = lived(steps, float(start + d))
    assert as_well == decided
    if isinstance(number, Traced):
        assert plain == pytest.approx(number.at(d), rel=1e-9, abs=number.err * abs(d) ** 3 * 1.001 + 1e-9)
    else:
        assert plain == pytest.approx(number, rel=1e-12)


@given(st.integers(0, 20_000), st.sampled_from([7, 10, 100]), st.integers(0, 9), st.integers(-300, 300),
       st.integers(0, 40))
def test_the_scan_that_sees_a_change(start, period, phase, d, k) -> None:
    """One run speaks for a moment and for the same moment whole periods later."""
    path = Path()
    moment = Traced(float(start), 1.0, float(period), path)
    index = first_index(moment, phase, period)
    seen = phase + index * period
    assert moment <= seen
    late = (seen + 3) < 5_000  # a decision against something that stands still
    claim = path.claim(-300, 300)
    if claim.first <= d <= claim.last and k <= claim.turns:
        at = start + d + k * period
        plain = phase + first_index(float(at), phase, period) * period
        assert (seen.at(d, k) if isinstance(seen, Traced) else seen) == plain
        assert (plain + 3 < 5_000) == late


def test_scans_made_by_a_moment() -> None:
    path = Path()
    count = made_by(Traced(1005.0, 1.0, 10.0, path), 3, 10)
    assert count.value == made_by(1005.0, 3, 10) == 101
    assert path.claim(-100, 100) == (-1, 7, 1 << 40)


def test_an_end_belongs_to_the_side_on_which_nothing_falls() -> None:
    path = Path()
    moment = Traced(10.0, 1.0, 0.0, path)
    assert moment <= 12
    assert moment > 7
    assert path.claim(-100, 100)[:2] == (-2, 2)


def test_equality_stands_for_its_own_moment() -> None:
    path = Path()
    moment = Traced(10.0, 1.0, 0.0, path)
    assert moment == 10
    assert path.claim(-5, 5)[:2] == (0, 0)
    path = Path()
    assert Traced(10.0, 1.0, 0.0, path) != 12
    assert path.claim(-5, 5)[:2] == (-5, 1)


def test_against_for_ever_nothing_is_narrowed() -> None:
    path = Path()
    assert Traced(10.0, 1.0, 5.0, path) < float("inf")
    assert path.claim(-5, 5) == (-5, 5, 1 << 40)


def test_a_bend_is_decided_at_both_roots() -> None:
    path = Path()
    d = Traced(0.0, 1.0, 0.0, path)
    assert d * d < 100
    assert path.claim(-50, 50)[:2] == (-9, 9)


def test_what_no_longer_depends_is_a_plain_number() -> None:
    one = traced()
    assert type(one - one) is float
    assert type(one * 0) is float


LEAVING = {
    "int()": int,
    "float()": float,
    "hash()": hash,
    "an index": lambda number: [0, 1, 2, 3][number],
    "a dict key": lambda number: {number: 1},
    "%": lambda number: number % 7,
    "% of it": lambda number: 7 % number,
    "divmod()": lambda number: divmod(number, 7),
    "**": lambda number: number**2,
    "round()": round,
    "formatting": lambda number: f"{number:.3f}",
    "str()": str,
    "repr()": repr,
    "// by it": lambda number: 100 // number,
    "floor()": math.floor,
    "ceil()": math.ceil,
    "trunc()": math.trunc,
    "a foreign library": math.sin,
    "a foreign root": math.sqrt,
}


@pytest.mark.parametrize("way", LEAVING)
def test_leaving_the_model_is_noted(way) -> None:
    number = traced(3.0)
    assert number.path.left == ""
    LEAVING[way](number)
    assert number.path.left
    assert number.path.claim(-9, 9) == (0, 0, 0)


def test_rounding_waits() -> None:
    number = traced(3.2)
    assert us(number) is number
    assert number.path.left == ""


def test_a_root_of_what_changes_much_speaks_for_as_far_as_it_is_known() -> None:
    path = Path()
    number = sqrt(Traced(10.0, 1.0, 0.0, path))
    assert not path.steep
    claim = path.claim(-9, 9)
    assert claim[:2] == (-4, 4)
    for d in range(-4, 5):
        assert abs(sqrt(10.0 + d) - number.at(d)) <= number.err * abs(d) ** 3


def test_a_root_of_what_is_next_to_nothing_speaks_for_itself_only() -> None:
    path = Path()
    sqrt(Traced(0.25, 1.0, 0.0, path))
    assert path.steep
    assert path.claim(-9, 9) == (0, 0, 0)


def test_a_decision_that_the_bound_leaves_open_far_away_is_taken_near() -> None:
    path = Path()
    number = sqrt(Traced(4e6, 1.0, 0.0, path))
    other = sqrt(Traced(4e6, 1.001, 0.0, path))
    assert not number > other  # they part at 0, and nobody knows where they would meet again
    first, last, _ = path.claim(-100_000, 100_000)
    assert (first, last) != (0, 0)
    for d in (first, last):
        assert (sqrt(4e6 + d) > sqrt(4e6 + 1.001 * d)) is (d < 0 and first < 0)


def test_a_number_made_anew_by_the_same_formula_is_the_same() -> None:
    path = Path()
    assert sqrt(Traced(4e6, 1.0, 0.0, path)) == sqrt(Traced(4e6, 1.0, 0.0, path))
    assert path.claim(-9, 9)[:2] == (-9, 9)


def test_division_by_nothing_is_an_error() -> None:
    with pytest.raises(ZeroDivisionError):
        _ = 1 / traced(0.0)
