"""Every unit of every quantity against pint, read and shown; and the exact factors of the trade.

1 in = 25.4 mm and 1 lb = 0.45359237 kg: the international yard and pound.  1 lbf = 4.4482216152605 N with the standard
gravity of 9.80665 m/s2.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pint
import pytest

from gatesim import shown
from gatesim.shown import System, shown_in
from gatesim.units import UNITS, Dimension, Quantity, in_unit, parse

REGISTRY: Any = pint.UnitRegistry(non_int_type=Fraction)

CANONICAL = {
    Dimension.DURATION: "microsecond", Dimension.LENGTH: "micrometer", Dimension.SPEED: "micrometer / microsecond",
    Dimension.ACCELERATION: "micrometer / microsecond ** 2", Dimension.FORCE: "millinewton",
    Dimension.STIFFNESS: "newton / millimeter", Dimension.MASS: "kilogram", Dimension.TEMPERATURE: "degC",
    Dimension.RESISTANCE: "ohm", Dimension.VOLTAGE: "millivolt", Dimension.CURRENT: "microampere",
    Dimension.CHARGE: "microampere * hour", Dimension.CAPACITANCE: "microfarad", Dimension.SHARE: "dimensionless",
    Dimension.AREA: "millimeter ** 2", Dimension.FREQUENCY: "hertz", Dimension.PRESSURE: "pascal",
    Dimension.TORQUE: "newton * meter", Dimension.INERTIA: "kilogram * meter ** 2",
    Dimension.TURNING: "revolutions_per_minute", Dimension.RATIO: "dimensionless", Dimension.LEVEL: "dBm",
    Dimension.GAIN: "dB",
}
"""The unit that `gatesim.units` keeps inside, in pint's words."""

THEIRS = {
    "min": "minute", "h": "hour", "d": "day", "in": "inch", "ft": "foot", "m/min": "meter / minute",
    "in/s": "inch / second", "ft/s": "foot / second", "ft/min": "foot / minute", "m/s2": "meter / second ** 2",
    "mm/s2": "millimeter / second ** 2", "in/s2": "inch / second ** 2", "ft/s2": "foot / second ** 2",
    "lbf": "pound_force", "lbf/in": "pound_force / inch", "lb": "pound", "t": "metric_ton", "Ah": "ampere * hour",
    "mAh": "milliampere * hour", "uAh": "microampere * hour", "nAh": "nanoampere * hour", "mC": "millicoulomb",
    "uC": "microcoulomb", "%": "percent", "mm2": "millimeter ** 2", "m2": "meter ** 2", "cm2": "centimeter ** 2",
    "ft2": "foot ** 2", "psf": "pound_force / foot ** 2", "Nm": "newton * meter", "mNm": "millinewton * meter",
    "Ncm": "newton * centimeter", "lbfft": "pound_force * foot", "kgm2": "kilogram * meter ** 2",
    "kgcm2": "kilogram * centimeter ** 2", "gm2": "gram * meter ** 2", "rps": "revolutions_per_second",
    "to 1": "dimensionless",
}
"""Units that pint calls otherwise."""

LOGARITHMIC = (Dimension.LEVEL, Dimension.GAIN)
"""One unit each, so that there is no factor to check; what a decibel is, test_air.py checks."""
ALL = [(dimension, unit) for dimension, units in UNITS.items() for unit in units
       if dimension not in LOGARITHMIC]
HEAT = (Dimension.TEMPERATURE,)


def test_every_dimension_has_its_canonical_unit() -> None:
    assert set(CANONICAL) == set(Dimension) == set(UNITS)
    assert len(ALL) > 50
    assert {unit for _, unit in ALL} >= set(THEIRS)
    assert all(len(UNITS[dimension]) == 1 for dimension in LOGARITHMIC)


def theirs(number: Fraction, unit: str, dimension: Dimension) -> Fraction:
    """pint's answer, in the canonical unit."""
    return Fraction(REGISTRY.Quantity(number, THEIRS.get(unit, unit)).to(CANONICAL[dimension]).magnitude)


@pytest.mark.parametrize(("dimension", "unit"), ALL, ids=[f"{d.value} {u}" for d, u in ALL])
def test_every_unit_is_pints(dimension: Dimension, unit: str) -> None:
    for text in ("3", "-40", "0.07", "12.5"):
        number, quantity = Fraction(text), Quantity(dimension)
        if dimension is Dimension.DURATION and (number * UNITS[dimension][unit]).denominator != 1:
            continue
        if dimension in HEAT:
            plain: Any = pint.UnitRegistry()
            expected = plain.Quantity(float(number), unit).to("degC").magnitude
            assert parse(f"{text} {unit}", quantity) == pytest.approx(expected, abs=1e-9)
            assert in_unit(float(expected), dimension, unit) == pytest.approx(float(number), abs=1e-9)
            continue
        exact = theirs(number, unit, dimension)
        assert parse(f"{text} {unit}", quantity) == float(exact), f"{text} {unit}: pint has {float(exact)}"
        assert in_unit(float(exact), dimension, unit) == pytest.approx(float(number), rel=1e-15)


def test_the_factors_are_exact() -> None:
    assert UNITS[Dimension.LENGTH]["in"] == Fraction("25.4") * 1_000
    assert UNITS[Dimension.MASS]["lb"] == Fraction("0.45359237")
    assert UNITS[Dimension.FORCE]["lbf"] == Fraction("4.4482216152605") * 1_000
    assert UNITS[Dimension.SPEED]["ft/s"] == Fraction("0.3048")
    assert UNITS[Dimension.STIFFNESS]["lbf/in"] == Fraction("4.4482216152605") / Fraction("25.4")


@pytest.mark.parametrize("value", [1.0, 312_400.0, 50_800.0, 1_234_567.0, 4_000_000.0, 0.0])
def test_what_is_shown_in_us_units_is_pints_rounded_once(value: float) -> None:
    plain: Any = pint.UnitRegistry()
    inches = plain.Quantity(value, "micrometer").to("inch").magnitude
    pounds = plain.Quantity(value, "millinewton").to("pound_force").magnitude
    pace = plain.Quantity(value / 1e6, "meter / second").to("foot / second").magnitude
    with shown_in(System.US):
        assert shown.mm(value, 1) == f"{inches:.3f} in"
        assert shown.force(value) == f"{pounds:.1f} lbf"
        assert shown.speed(value / 1e6) == f"{pace:.2f} ft/s"
        said = shown.feet(value)
    feet, rest = (said.split(" ft ") if " ft " in said else ("0", said))
    assert 12 * int(feet) + float(rest.removesuffix(" in")) == pytest.approx(inches, abs=0.05 + 1e-9)
