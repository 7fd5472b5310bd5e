"""What people are shown: quantities in SI or US customary units, one choice for a whole call; text that is safe.

Everything inside stays in the units of `gatesim.units`; only what a text says is converted, exactly (1 in = 25.4 mm,
1 lbf = 4.4482216152605 N), and rounded once, as finely as in SI or finer.  What is for programs is SI always.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from enum import Enum


class System(Enum):
    """The systems of units that a text can be in."""

    SI = "si"
    US = "us"


_SYSTEM: ContextVar[System] = ContextVar("system of units", default=System.SI)


@contextmanager
def shown_in(system: System) -> Iterator[None]:
    """Within it, every quantity is said in this system."""
    before = _SYSTEM.set(system)
    try:
        yield
    finally:
        _SYSTEM.reset(before)


def is_us() -> bool:
    """Whether US customary units are shown."""
    return _SYSTEM.get() is System.US


def _in(value: float, dimension: str, unit: str) -> float:
    from gatesim.units import Dimension, in_unit  # `gatesim --help` needs none of it

    return in_unit(value, Dimension(dimension), unit)


def _said(value: float, dimension: str, si: tuple[str, int], us: tuple[str, int]) -> str:
    unit, places = us if is_us() else si
    return f"{_in(value, dimension, unit):.{places}f} {unit}"


def mm(um: float, places: int = 0) -> str:
    """A short length (um): "312 mm", "12.28 in"; two more places in inches than in millimetres."""
    return _said(um, "length", ("mm", places), ("in", places + 2))


def position(um: float) -> str:
    """A place of the leaf (um), never read finer by eye: "1250 mm", "4 ft 1.2 in"."""
    return feet(um) if is_us() else f"{um / 1000:.0f} mm"


def stretch(start: float, end: float) -> str:
    """From one place of the leaf to another (um): "0 to 4600 mm", "0.0 in to 15 ft 1.1 in"."""
    return f"{feet(start)} to {feet(end)}" if is_us() else f"{start / 1000:.0f} to {position(end)}"


def metres(um: float) -> str:
    """A long length (um): "4.00 m", "13 ft 1.5 in"."""
    return feet(um) if is_us() else f"{um / 1e6:.2f} m"


def feet(um: float) -> str:
    """Feet and inches to a tenth of an inch, rounded once."""
    tenths = round(_in(um, "length", "in") * 10)
    sign, tenths = ("-" if tenths < 0 else ""), abs(tenths)
    whole, rest = divmod(tenths, 120)
    return f"{sign}{whole} ft {rest // 10}.{rest % 10} in" if whole else f"{sign}{rest // 10}.{rest % 10} in"


def speed(um_us: float) -> str:
    """A speed (um/us): "0.20 m/s", "0.66 ft/s"."""
    return _said(um_us, "speed", ("m/s", 2), ("ft/s", 2))


def fine_speed(um_us: float) -> str:
    """A speed to the millimetre a second: "200 mm/s", "0.656 ft/s"."""
    return _said(um_us, "speed", ("mm/s", 0), ("ft/s", 3))


def force(mn: float, places: int = 0) -> str:
    """A force (mN): "400 N", "89.9 lbf"."""
    return _said(mn, "force", ("N", places), ("lbf", places + 1))


def temperature(celsius: float) -> str:
    """A temperature (degC): "-20 degC", "-4 degF"."""
    unit = "degF" if is_us() else "degC"
    return f"{_in(celsius, 'temperature', unit):.4g} {unit}"


def kohm(ohm: float) -> str:
    """A loop's resistance (ohm), the same in both systems: "8.20 kohm"."""
    return f"{ohm / 1000:.2f} kohm"


HIDDEN = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\u200e\u200f\u061c\u202a-\u202e\u2066-\u2069"
    "\ud800-\udfff\ufeff\ufffe\uffff]"
)
"""Control characters, line breaks that only some know, marks that turn the reading direction, lone surrogates and what
is no character: none belongs in a file that people review, or may reach a terminal."""
_BROKEN_LINE = re.compile("[\t\r\n]+")


def visible(text: str) -> str:
    """Text with every hidden character written out ("\\x1b"); tabs and line ends stay."""
    return HIDDEN.sub(lambda found: ascii(found.group())[1:-1], text.replace("\r\n", "\n").replace("\r", "\n"))


def on_one_line(text: str, most: int = 10_000) -> str:
    """Visible text without tabs and line ends, cut after so many characters."""
    said = visible(_BROKEN_LINE.sub(" ", text))
    return said if len(said) <= most else said[: most - 3] + "..."
