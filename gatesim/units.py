"""Quantities: a number with its unit in files, a plain number in one fixed unit inside.

Inside, a field's *dimension* says its unit, once, here:

    duration      whole microseconds (int)          length         micrometres (float)
    speed         um/us, numerically m/s            acceleration   um/us^2 (1 m/s2 = 1e-6)
    force         millinewtons                      stiffness      mN/um, numerically N/mm
    mass          kilograms                         temperature    degrees Celsius
    resistance    ohms                              voltage        millivolts
    current       microamperes                      charge         microampere-hours
    share         a plain fraction ("5 %" is 0.05)  area           square millimetres
    frequency     hertz                             level          dBm
    gain          dB

Instants are microseconds since the start of the run.  What a file or a timer states is whole; what motion
produces stays unrounded until it reaches a trace or a verdict (`us`).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum
from fractions import Fraction
from typing import Annotated, NamedTuple


class Dimension(Enum):
    """What a quantity measures."""

    DURATION = "duration"
    LENGTH = "length"
    SPEED = "speed"
    ACCELERATION = "acceleration"
    FORCE = "force"
    STIFFNESS = "stiffness"
    MASS = "mass"
    TEMPERATURE = "temperature"
    RESISTANCE = "resistance"
    VOLTAGE = "voltage"
    CURRENT = "current"
    CHARGE = "charge"
    SHARE = "share"
    AREA = "area"
    FREQUENCY = "frequency"
    LEVEL = "level"
    GAIN = "gain"


@dataclass(frozen=True, slots=True)
class Quantity:
    """Marks a field with its dimension and the range a sane file keeps to (canonical units)."""

    dimension: Dimension
    low: float | None = None
    high: float | None = None


Instant = float
Duration = Annotated[int, Quantity(Dimension.DURATION, 0, 366 * 86_400_000_000)]
Length = Annotated[float, Quantity(Dimension.LENGTH, 0, 100e6)]
Speed = Annotated[float, Quantity(Dimension.SPEED, 0, 10)]
Acceleration = Annotated[float, Quantity(Dimension.ACCELERATION, 0, 100e-6)]
Force = Annotated[float, Quantity(Dimension.FORCE, 0, 1e8)]
Stiffness = Annotated[float, Quantity(Dimension.STIFFNESS, 0, 1e6)]
Mass = Annotated[float, Quantity(Dimension.MASS, 0, 100e3)]
Temperature = Annotated[float, Quantity(Dimension.TEMPERATURE, -90, 120)]
Resistance = Annotated[float, Quantity(Dimension.RESISTANCE, 0, 1e9)]
Voltage = Annotated[float, Quantity(Dimension.VOLTAGE, 0, 1e6)]
Current = Annotated[float, Quantity(Dimension.CURRENT, 0, 1e9)]
Charge = Annotated[float, Quantity(Dimension.CHARGE, 0, 1e12)]
Share = Annotated[float, Quantity(Dimension.SHARE, 0, 1)]
Surplus = Annotated[float, Quantity(Dimension.SHARE, 0, 9)]
Area = Annotated[float, Quantity(Dimension.AREA, 0, 1e6)]
Frequency = Annotated[float, Quantity(Dimension.FREQUENCY, 1e6, 100e9)]
Level = Annotated[float, Quantity(Dimension.LEVEL, -200, 60)]
Gain = Annotated[float, Quantity(Dimension.GAIN, -100, 200)]
ClockError = Annotated[float, Quantity(Dimension.SHARE, -0.1, 0.1)]

FOREVER: float = float("inf")
"""The deadline of a part that waits for nothing."""


def us(instant: float) -> int:
    """Whole microseconds of an instant or a span: the one late rounding (half up).

    A value within 1 ns of a whole microsecond is that one, by the same rule.  A number that is traced (`search`) is
    rounded later still.
    """
    if type(instant) is int:
        return instant
    if instant.__class__ is float:
        return int((instant + 0.5) // 1)
    return instant.late()  # type: ignore[attr-defined, no-any-return]


def whole(number: float) -> int:
    """A whole number as an int; a traced one stays what it is."""
    if number.__class__ is float or number.__class__ is int:
        return int(number)
    return number.late()  # type: ignore[attr-defined, no-any-return]


# --- the grammar of quantities ---------------------------------------------------------------------------------

LONGEST_NUMBER = 20
"""Characters of a number at most, sign and point included."""

_LONGEST_TEXT = 64
_NUMBER = re.compile(r"[+-]?[0-9]+(?:\.[0-9]+)?")
_POUND = Fraction(45_359_237, 100_000_000)
_GRAVITY = Fraction(980_665, 100_000)
_INCH = 25_400


def _ten(power: int) -> Fraction:
    return Fraction(10) ** power


UNITS: dict[Dimension, dict[str, Fraction]] = {
    Dimension.DURATION: {
        "s": _ten(6), "ms": _ten(3), "us": _ten(0),
        "min": 60 * _ten(6), "h": 3_600 * _ten(6), "d": 86_400 * _ten(6),
    },
    Dimension.LENGTH: {
        "mm": _ten(3), "m": _ten(6), "um": _ten(0), "cm": _ten(4),
        "in": Fraction(_INCH), "ft": Fraction(12 * _INCH),
    },
    Dimension.SPEED: {
        "m/s": _ten(0), "mm/s": _ten(-3), "cm/s": _ten(-2), "m/min": Fraction(1, 60),
        "in/s": Fraction(_INCH, 10**6), "ft/s": Fraction(12 * _INCH, 10**6), "ft/min": Fraction(12 * _INCH, 60 * 10**6),
    },
    Dimension.ACCELERATION: {
        "m/s2": _ten(-6), "mm/s2": _ten(-9), "in/s2": Fraction(_INCH, 10**12), "ft/s2": Fraction(12 * _INCH, 10**12),
    },
    Dimension.FORCE: {
        "N": _ten(3), "kN": _ten(6), "mN": _ten(0), "lbf": _POUND * _GRAVITY * 1_000,
    },
    Dimension.STIFFNESS: {
        "N/mm": _ten(0), "N/m": _ten(-3), "kN/m": _ten(0), "lbf/in": _POUND * _GRAVITY * 1_000 / _INCH,
    },
    Dimension.MASS: {"kg": _ten(0), "g": _ten(-3), "t": _ten(3), "lb": _POUND},
    Dimension.TEMPERATURE: {"degC": _ten(0), "degF": Fraction(5, 9)},
    Dimension.RESISTANCE: {"ohm": _ten(0), "kohm": _ten(3), "Mohm": _ten(6), "mohm": _ten(-3)},
    Dimension.VOLTAGE: {"V": _ten(3), "mV": _ten(0), "kV": _ten(6), "uV": _ten(-3)},
    Dimension.CURRENT: {"A": _ten(6), "mA": _ten(3), "uA": _ten(0), "nA": _ten(-3)},
    Dimension.CHARGE: {
        "Ah": _ten(6), "mAh": _ten(3), "uAh": _ten(0), "nAh": _ten(-3),
        "mC": Fraction(1_000, 3_600), "uC": Fraction(1, 3_600),
    },
    Dimension.SHARE: {"%": Fraction(1, 100), "ppm": _ten(-6)},
    Dimension.AREA: {"mm2": _ten(0)},
    Dimension.FREQUENCY: {"MHz": _ten(6), "GHz": _ten(9), "kHz": _ten(3), "Hz": _ten(0)},
    Dimension.LEVEL: {"dBm": _ten(0)},
    Dimension.GAIN: {"dB": _ten(0)},
}
"""Each unit's exact factor to the canonical unit; the order is the preference of `format_quantity`."""

_NOT_WRITTEN = frozenset(
    ("cm", "cm/s", "m/min", "in", "ft", "in/s", "ft/s", "ft/min", "mm/s2", "in/s2", "ft/s2", "lbf", "kN/m", "lbf/in",
     "lb", "degF", "kV", "mC", "uC", "ppm")
)
"""The units that are read and that `format_quantity` does not write."""

_EXAMPLES = {
    Dimension.DURATION: "250 ms", Dimension.LENGTH: "11.5 in", Dimension.SPEED: "0.3 m/s",
    Dimension.ACCELERATION: "0.4 m/s2", Dimension.FORCE: "15 lbf", Dimension.STIFFNESS: "500 N/mm",
    Dimension.MASS: "320 kg", Dimension.TEMPERATURE: "-20 degC", Dimension.RESISTANCE: "8.2 kohm",
    Dimension.VOLTAGE: "2.4 V", Dimension.CURRENT: "25 mA", Dimension.CHARGE: "2.4 Ah", Dimension.SHARE: "5 %",
    Dimension.AREA: "0.5 mm2", Dimension.FREQUENCY: "433.92 MHz", Dimension.LEVEL: "-100 dBm", Dimension.GAIN: "6 dB",
}

_MEANT = {
    "\u00b5s": "us", "\u03bcs": "us", "\u00b5m": "um", "\u03bcm": "um", "\u00b5A": "uA", "\u03bcA": "uA",
    "\u03a9": "ohm", "\u2126": "ohm", "k\u03a9": "kohm", "k\u2126": "kohm", "M\u03a9": "Mohm", "M\u2126": "Mohm",
    "\u00b0C": "degC", "\u00b0F": "degF", "C": "degC", "F": "degF", "percent": "%", "pct": "%",
    "sec": "s", "second": "s", "seconds": "s", "secs": "s", "msec": "ms", "minute": "min", "minutes": "min",
    "hour": "h", "hours": "h", "hr": "h", "day": "d", "days": "d", "inch": "in", "inches": "in", '"': "in",
    "foot": "ft", "feet": "ft", "'": "ft", "metre": "m", "meter": "m", "m/s^2": "m/s2", "m/s\u00b2": "m/s2",
    "dBi": "dB", "dBd": "dB", "db": "dB", "dbm": "dBm", "dBW": "dBm", "Mhz": "MHz", "mhz": "MHz",
    "mph": "ft/s", "km/h": "m/s",
    "mm\u00b2": "mm2", "mm^2": "mm2", "sqmm": "mm2",
    "R": "ohm", "k": "kohm", "K": "kohm", "lbs": "lb", "kgf": "N",
}
"""What people write and what we read, for the hint only."""


class BadQuantity(ValueError):
    """A text that is no quantity of the asked dimension; `hint` says what would be one."""

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint


class Amount(NamedTuple):
    """A limit given as text: whole microseconds, micrometres or millinewtons, or a plain count (dimension None)."""

    dimension: Dimension | None
    whole: int


def example(dimension: Dimension) -> str:
    """A well-written quantity of this dimension."""
    return _EXAMPLES[dimension]


def clip(text: str, most: int = 40) -> str:
    """The text, cut where it is too long for a message, quoted so that nothing in it can act on a terminal."""
    return ascii(text if len(text) <= most else text[: most - 1] + "...")


def whole_number(text: str, low: int | None = None, high: int | None = None) -> int:
    """A whole number in decimal digits, with an optional sign; BadQuantity otherwise."""
    if not re.fullmatch(r"[+-]?[0-9]+", text) or len(text) > LONGEST_NUMBER:
        raise BadQuantity(f"{clip(text)} is not a whole number", "write decimal digits only, such as 3")
    number = int(text)
    if (low is not None and number < low) or (high is not None and number > high):
        raise BadQuantity(f"{number} is out of range", f"must be {_span(low, high)}")
    return number


def _span(low: object, high: object) -> str:
    if high is None:
        return f"at least {low}"
    return f"at most {high}" if low is None else f"between {low} and {high}"


def _split(text: str, wanted: str) -> tuple[Fraction, str]:
    """The number and the unit's text; the unit may be empty."""
    if len(text) > _LONGEST_TEXT:
        raise BadQuantity(f"{clip(text)} is too long for a quantity", f"such as {wanted}")
    found = _NUMBER.match(text)
    if found is None:
        hint = f"write a decimal number and a unit, such as {wanted}"
        raise BadQuantity(f"{clip(text)} does not start with a number", hint)
    digits, rest = found.group(), text[found.end() :]
    if rest[:1] in {",", ".", "_", "e", "E"} and (rest[1:2].isdigit() or rest[1:2] in {"+", "-", ""}):
        hint = f"no exponent, no comma, no underscore, digits on both sides of the point; such as {wanted}"
        raise BadQuantity(f"{clip(text)} is not a plain decimal number", hint)
    if len(digits) > LONGEST_NUMBER:
        raise BadQuantity(f"{clip(digits)} is too long for a number", f"at most {LONGEST_NUMBER} characters")
    return Fraction(digits), rest.strip(" ")


def _of_dimension(unit: str) -> Dimension | None:
    return next((dimension for dimension, units in UNITS.items() if unit in units), None)


def _wrong_unit(unit: str, dimension: Dimension) -> BadQuantity:
    units = UNITS[dimension]
    other = _of_dimension(unit)
    legal = "legal are " + ", ".join(units)
    if other is not None:
        return BadQuantity(f"{clip(unit)} is a unit of {other.value}, not of {dimension.value}", legal)
    meant = _MEANT.get(unit)
    if meant not in units:
        import difflib  # only on the way to an error

        close = difflib.get_close_matches(unit, units, n=1, cutoff=0.3) if len(unit) <= 20 else []
        meant = close[0] if close else None
    hint = f"did you mean {meant}? {legal}" if meant else legal
    return BadQuantity(f"{clip(unit)} is not a unit that is known here", hint)


def _canonical(number: Fraction, unit: str, dimension: Dimension) -> Fraction:
    if unit == "degF":
        number -= 32
    return number * UNITS[dimension][unit]


def parse(text: str, quantity: Quantity) -> int | float:
    """The quantity in its canonical unit: an int for durations, a float rounded once for all else.

    Raises BadQuantity: no number, no unit, a unit of something else, not whole microseconds, out of range.
    """
    dimension = quantity.dimension
    number, unit = _split(text, example(dimension))
    if not unit:
        raise BadQuantity(f"{clip(text)} needs a unit", f"such as {example(dimension)}")
    if unit not in UNITS[dimension]:
        raise _wrong_unit(unit, dimension)
    exact = _canonical(number, unit, dimension)
    low, high = quantity.low, quantity.high
    value = float(exact)
    if (low is not None and value < low) or (high is not None and value > high):
        ends = [None if end is None else format_quantity(end, dimension) for end in (low, high)]
        raise BadQuantity(f"{clip(text)} is out of range", f"must be {_span(*ends)}")
    if dimension is not Dimension.DURATION:
        return value
    if exact.denominator != 1:
        raise BadQuantity(f"{clip(text)} is not a whole number of microseconds", "the finest step is 1 us")
    return int(exact)


_LIMITS = (Dimension.DURATION, Dimension.LENGTH, Dimension.FORCE)


def parse_any(text: str) -> Amount:
    """A limit as text ("1.5 s", "50 mm", "400 N", "2") as a whole number of us, um, mN or 1.

    Durations are exact or refused; lengths and forces are rounded half up to 1 um and 1 mN.  Never negative.
    Raises BadQuantity.
    """
    number, unit = _split(text, "1.5 s, 50 mm, 400 N or 2")
    if number < 0:
        raise BadQuantity(f"{clip(text)} is below zero", "a limit is zero or more")
    if not unit:
        return Amount(None, whole_number(text))
    dimension = _of_dimension(unit)
    if dimension is None:
        legal = ", ".join(unit for kind in _LIMITS for unit in UNITS[kind])
        hint = f"legal are {legal}, or no unit for a count"
        raise BadQuantity(f"{clip(unit)} is not a unit that is known here", hint)
    if dimension not in _LIMITS:
        raise BadQuantity(
            f"{clip(unit)} is a unit of {dimension.value}", "a limit is a duration, a length, a force or a plain count"
        )
    value = parse(text, Quantity(dimension, 0, 1e14))
    return Amount(dimension, value if isinstance(value, int) else us(value))


def _decimal_text(number: Fraction) -> str | None:
    """Shortest decimal text of a fraction that ends; None where it does not end."""
    rest, twos, fives = number.denominator, 0, 0
    while rest % 2 == 0:
        rest, twos = rest // 2, twos + 1
    while rest % 5 == 0:
        rest, fives = rest // 5, fives + 1
    places = max(twos, fives)
    if rest != 1 or places > LONGEST_NUMBER:
        return None
    digits = str(abs(number.numerator) * 10**places // number.denominator).rjust(places + 1, "0")
    sign = "-" if number < 0 else ""
    return sign + (f"{digits[:-places]}.{digits[-places:]}" if places else digits)


def format_quantity(value: float, dimension: Dimension) -> str:
    """The shortest text that parses back to the same value, in a metric unit (250000 us: "250 ms").

    Where 20 characters can't hold it, the nearest that they can.
    """
    exact = Fraction(Decimal(repr(value)))
    best: tuple[int, bool, str] | None = None
    for unit, factor in UNITS[dimension].items():
        if unit in _NOT_WRITTEN:
            continue
        number = _decimal_text(exact / factor)
        if number is None or len(number) > LONGEST_NUMBER:
            continue
        said = (len(number) + len(unit), "." in number, f"{number} {unit}")
        if best is None or said[:2] < best[:2]:
            best = said
    if best is not None:
        return best[2]
    unit, factor = next(iter(UNITS[dimension].items()))
    scaled = exact / factor
    places = max(0, LONGEST_NUMBER - 2 - len(str(abs(int(scaled)))))
    return f"{float(scaled):.{places}f} {unit}"
