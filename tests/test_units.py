"""The grammar of quantities: exact, safe, and agreed with an independent table of units."""

from __future__ import annotations

import contextlib
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gatesim.units import (
    LONGEST_NUMBER,
    UNITS,
    Amount,
    BadQuantity,
    Dimension,
    Quantity,
    example,
    format_quantity,
    parse,
    parse_any,
    us,
    whole_number,
)

D = Dimension


def free(dimension: Dimension) -> Quantity:
    return Quantity(dimension)


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("250 ms", D.DURATION, 250_000),
        ("250ms", D.DURATION, 250_000),
        ("3 h", D.DURATION, 10_800_000_000),
        ("2 d", D.DURATION, 172_800_000_000),
        ("0.001 ms", D.DURATION, 1),
        ("11.5 in", D.LENGTH, 292_100.0),
        ("2 in", D.LENGTH, 50_800.0),
        ("8.2 kohm", D.RESISTANCE, 8_200.0),
        ("8 mohm", D.RESISTANCE, 0.008),
        ("8 Mohm", D.RESISTANCE, 8e6),
        ("0.3 m/s", D.SPEED, 0.3),
        ("1 ft/s", D.SPEED, 0.3048),
        ("0.4 m/s2", D.ACCELERATION, 0.4e-6),
        ("500 N/mm", D.STIFFNESS, 500.0),
        ("320 kg", D.MASS, 320.0),
        ("100 lb", D.MASS, 45.359237),
        ("-20 degC", D.TEMPERATURE, -20.0),
        ("14 degF", D.TEMPERATURE, -10.0),
        ("2.4 Ah", D.CHARGE, 2_400_000.0),
        ("3.6 mC", D.CHARGE, 1.0),
        ("25 mA", D.CURRENT, 25_000.0),
        ("3.3 V", D.VOLTAGE, 3_300.0),
        ("5 %", D.SHARE, 0.05),
        ("5%", D.SHARE, 0.05),
        ("433.92 MHz", D.FREQUENCY, 433.92e6),
        ("-100 dBm", D.LEVEL, -100.0),
        ("6 dB", D.GAIN, 6.0),
        ("-20 ppm", D.SHARE, -20e-6),
        ("+007 s", D.DURATION, 7_000_000),
    ],
)
def test_a_quantity_becomes_its_canonical_number(text: str, dimension: Dimension, value: float) -> None:
    found = parse(text, free(dimension))
    assert found == value
    assert isinstance(found, int if dimension is D.DURATION else float)


@pytest.mark.parametrize(
    ("text", "dimension", "said", "hint"),
    [
        ("5", D.DURATION, "needs a unit", "250 ms"),
        ("15 lb", D.FORCE, "'lb' is a unit of mass, not of force", "lbf"),
        ("250 sec", D.DURATION, "not a unit", "did you mean s?"),
        ("8.2 k\u03a9", D.RESISTANCE, "not a unit", "did you mean kohm?"),
        ("3 Ms", D.DURATION, "not a unit", "did you mean"),
        ("0.5 us", D.DURATION, "whole number of microseconds", "1 us"),
        ("1e9 s", D.DURATION, "plain decimal", "no exponent"),
        ("1E9 s", D.DURATION, "plain decimal", "no exponent"),
        ("1_000 ms", D.DURATION, "plain decimal", "no underscore"),
        ("1,5 m", D.LENGTH, "plain decimal", "no comma"),
        ("1. m", D.LENGTH, "not a", ""),
        (".5 m", D.LENGTH, "does not start with a number", "11.5 in"),
        ("nan s", D.DURATION, "does not start with a number", ""),
        ("inf s", D.DURATION, "does not start with a number", ""),
        ("0x10 m", D.LENGTH, "not a unit", ""),
        ("\u0663 s", D.DURATION, "does not start with a number", ""),
        ("3 ft 6 in", D.LENGTH, "not a unit", ""),
        ("9**9**9 m", D.LENGTH, "not a unit", ""),
        ("- 5 m", D.LENGTH, "does not start with a number", ""),
        ("--5 m", D.LENGTH, "does not start with a number", ""),
        ("1" * (LONGEST_NUMBER + 1) + " m", D.LENGTH, "too long", ""),
        ("1" * 10_000, D.LENGTH, "too long", ""),
        ("", D.LENGTH, "does not start with a number", ""),
        ("5\tm", D.LENGTH, "not a unit", ""),
        ("5\nm", D.LENGTH, "not a unit", ""),
    ],
)
def test_what_is_no_quantity_is_refused_with_its_reason(text: str, dimension: Dimension, said: str, hint: str) -> None:
    with pytest.raises(BadQuantity) as caught:
        parse(text, free(dimension))
    assert said in caught.value.message
    assert hint in caught.value.hint
    assert caught.value.message.isascii()


@pytest.mark.parametrize(("text", "sound"), [("0 mm", True), ("10 m", True), ("10.000001 m", False), ("-1 um", False)])
def test_the_range_holds_at_its_very_ends(text: str, sound: bool) -> None:
    quantity = Quantity(D.LENGTH, 0, 10e6)
    if sound:
        parse(text, quantity)
    else:
        with pytest.raises(BadQuantity) as caught:
            parse(text, quantity)
        assert "between 0 m and 10 m" in caught.value.hint


def test_every_example_is_a_quantity_of_its_dimension() -> None:
    for dimension in Dimension:
        assert isinstance(parse(example(dimension), free(dimension)), (int, float))


def test_no_unit_means_two_things() -> None:
    every = [unit for units in UNITS.values() for unit in units]
    assert len(every) == len(set(every))


PINT = {"%": "percent", "lbf": "force_pound", "t": "metric_ton", "in": "inch", "min": "minute", "d": "day", "h": "hour"}
CANONICAL = {
    D.DURATION: "microsecond", D.LENGTH: "micrometer", D.SPEED: "meter/second", D.ACCELERATION: "meter/second**2*1e6",
    D.FORCE: "millinewton", D.STIFFNESS: "newton/millimeter", D.MASS: "kilogram", D.RESISTANCE: "ohm",
    D.VOLTAGE: "millivolt", D.CURRENT: "microampere", D.CHARGE: "microampere*hour", D.SHARE: "dimensionless",
    D.AREA: "millimeter**2", D.FREQUENCY: "hertz",
}  # fmt: skip


def pint_name(unit: str) -> str:
    if unit in PINT:
        return PINT[unit]
    if unit.endswith("Ah"):
        return unit.removesuffix("h") + "*hour"
    words = unit.removesuffix("2").split("/")
    named = "/".join(PINT.get(word, word) for word in words)
    return named.replace("lbf", "force_pound") + ("**2" if unit.endswith("2") else "")


def test_pint_agrees_on_every_factor() -> None:
    """A second opinion, from a library that must never read a user's text."""
    pint = pytest.importorskip("pint")
    registry = pint.UnitRegistry(non_int_type=Fraction)
    compared = 0
    for dimension, units in UNITS.items():
        if dimension in (D.TEMPERATURE, D.LEVEL, D.GAIN):
            continue  # no factors: read by other tests
        for unit, factor in units.items():
            canonical = CANONICAL[dimension].removesuffix("*1e6")
            scale = Fraction(1, 10**6) if dimension is D.ACCELERATION else Fraction(1)
            theirs = registry.Quantity(Fraction(1), pint_name(unit)).to(canonical).magnitude * scale
            assert float(theirs) == pytest.approx(float(factor), rel=1e-15), unit
            compared += 1
    assert compared >= 50


def test_pint_agrees_on_temperatures() -> None:
    pint = pytest.importorskip("pint")
    registry = pint.UnitRegistry()
    for text, degree in (("14", 14), ("-40", -40), ("212", 212)):
        theirs = registry.Quantity(degree, registry.degF).to(registry.degC).magnitude
        assert parse(f"{text} degF", free(D.TEMPERATURE)) == pytest.approx(theirs)


def test_levels_have_one_unit_and_their_differences_another() -> None:
    """A level in dBm plus a gain in dB is a level, by pint: -20 dBm and 6 dB are four times 10 uW."""
    pint = pytest.importorskip("pint")
    registry = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    assert (list(UNITS[D.LEVEL]), list(UNITS[D.GAIN])) == (["dBm"], ["dB"])
    level = parse("-20 dBm", free(D.LEVEL)) + parse("6.0206 dB", free(D.GAIN))
    assert registry.Quantity(level, "dBm").to("microwatt").magnitude == pytest.approx(40, rel=1e-5)


@pytest.mark.parametrize(
    ("value", "dimension", "text"),
    [
        (250_000, D.DURATION, "250 ms"),
        (0, D.DURATION, "0 s"),
        (1_500_000, D.DURATION, "1.5 s"),
        (90_000_000, D.DURATION, "90 s"),
        (86_400_000_000, D.DURATION, "1 d"),
        (0.3, D.SPEED, "0.3 m/s"),
        (0.15e-6, D.ACCELERATION, "0.15 m/s2"),
        (400_000.0, D.FORCE, "400 N"),
        (0.05, D.SHARE, "5 %"),
        (-20.0, D.TEMPERATURE, "-20 degC"),
        (292_100.0, D.LENGTH, "292.1 mm"),
    ],
)
def test_a_value_is_written_as_a_person_would(value: float, dimension: Dimension, text: str) -> None:
    assert format_quantity(value, dimension) == text


@given(st.sampled_from(list(Dimension)), st.integers(-(10**9), 10**9), st.integers(0, 6))
@settings(max_examples=300, deadline=None, derandomize=True, database=None)
def test_what_is_written_reads_back_the_same(dimension: Dimension, digits: int, places: int) -> None:
    if dimension is D.DURATION:
        value: float = abs(digits)
    else:
        unit = next(iter(UNITS[dimension]))
        value = float(Fraction(digits, 10**places) * UNITS[dimension][unit])
    assert parse(format_quantity(value, dimension), free(dimension)) == value


@given(st.text(max_size=70), st.sampled_from(list(Dimension)))
@settings(max_examples=400, deadline=None, derandomize=True, database=None)
def test_any_text_is_read_or_refused(text: str, dimension: Dimension) -> None:
    # Anything but BadQuantity fails the test.
    with contextlib.suppress(BadQuantity):
        assert abs(parse(text, free(dimension))) < 1e40
    with contextlib.suppress(BadQuantity):
        assert parse_any(text).whole >= 0


@pytest.mark.parametrize(
    ("text", "amount"),
    [
        ("1.5 s", Amount(D.DURATION, 1_500_000)),
        ("50 mm", Amount(D.LENGTH, 50_000)),
        ("2 in", Amount(D.LENGTH, 50_800)),
        ("400 N", Amount(D.FORCE, 400_000)),
        ("15 lbf", Amount(D.FORCE, 66_723)),
        ("2", Amount(None, 2)),
        ("0 s", Amount(D.DURATION, 0)),
    ],
)
def test_a_limit_is_a_whole_number_of_its_unit(text: str, amount: Amount) -> None:
    assert parse_any(text) == amount


@pytest.mark.parametrize("text", ["2 V", "-1 s", "1 foo", "1.5", "0.1 us", "", "s", "1 s 2"])
def test_what_is_no_limit_is_refused(text: str) -> None:
    with pytest.raises(BadQuantity):
        parse_any(text)


@pytest.mark.parametrize("text", ["1_0", "1.0", "0x1", "", " 1", "1e3", "9" * 21, "\u0661", "nan"])
def test_whole_numbers_have_decimal_digits_only(text: str) -> None:
    with pytest.raises(BadQuantity):
        whole_number(text)


def test_whole_numbers_keep_to_their_range() -> None:
    assert [whole_number(text, -5, 5) for text in ("-5", "+5", "0", "03")] == [-5, 5, 0, 3]
    with pytest.raises(BadQuantity, match="out of range"):
        whole_number("6", -5, 5)


def test_an_instant_is_rounded_half_up_once() -> None:
    assert [us(0.5), us(1.4999), us(2.0), us(-0.5)] == [1, 1, 2, 0]
