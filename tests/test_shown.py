"""What people read, in either system of units; rounded once, and as finely in inches as in millimetres."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gatesim import shown
from gatesim.shown import System, shown_in

SAID = [
    (lambda: shown.mm(50_800), "51 mm", "2.00 in"),
    (lambda: shown.mm(25_400, 1), "25.4 mm", "1.000 in"),
    (lambda: shown.position(1_250_000), "1250 mm", "4 ft 1.2 in"),
    (lambda: shown.position(0.0), "0 mm", "0.0 in"),
    (lambda: shown.stretch(0, 4_600_000), "0 to 4600 mm", "0.0 in to 15 ft 1.1 in"),
    (lambda: shown.metres(4_000_000), "4.00 m", "13 ft 1.5 in"),
    (lambda: shown.metres(304_800), "0.30 m", "1 ft 0.0 in"),
    (lambda: shown.metres(304_799), "0.30 m", "1 ft 0.0 in"),
    (lambda: shown.position(-254_000), "-254 mm", "-10.0 in"),
    (lambda: shown.speed(0.3048), "0.30 m/s", "1.00 ft/s"),
    (lambda: shown.fine_speed(0.2), "200 mm/s", "0.656 ft/s"),
    (lambda: shown.force(400_000), "400 N", "89.9 lbf"),
    (lambda: shown.force(66_723.3242, 1), "66.7 N", "15.00 lbf"),
    (lambda: shown.temperature(-20.0), "-20 degC", "-4 degF"),
    (lambda: shown.temperature(20.0), "20 degC", "68 degF"),
    (lambda: shown.kohm(8_200.0), "8.20 kohm", "8.20 kohm"),
]


@pytest.mark.parametrize(("said", "si", "us"), SAID, ids=[row[2] for row in SAID])
def test_in_both_systems(said, si: str, us: str) -> None:
    assert said() == si
    with shown_in(System.US):
        assert said() == us
    assert said() == si


@given(st.floats(-1e5, 1e5))
def test_a_margin_in_inches_is_as_fine_as_in_millimetres(um: float) -> None:
    """What reads as more or less than nothing in mm never reads as nothing in inches."""
    si = float(shown.mm(um, 1).split()[0])
    with shown_in(System.US):
        us = float(shown.mm(um, 1).split()[0])
    assert us * 25.4 == pytest.approx(um / 1000, abs=0.5 * 0.0254 + 1e-9)
    if si != 0:
        assert us != 0
        assert (us > 0) == (si > 0)


def test_the_choice_ends_with_an_error() -> None:
    def fails() -> None:
        with shown_in(System.US):
            raise ValueError("on purpose")

    with pytest.raises(ValueError, match="on purpose"):
        fails()
    assert not shown.is_us()
