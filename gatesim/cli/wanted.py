"""Which logic a command line asks for, and how it is to be called."""

from __future__ import annotations

from typing import NamedTuple

from gatesim.errors import BadUsage
from gatesim.units import BadQuantity, Dimension, Quantity, parse


class Wanted(NamedTuple):
    """The logic under test, as given; durations as text with a unit."""

    controller: str | None = None
    receiver: str | None = None
    classifier: str | None = None
    scan: str | None = None
    input_filter: str | None = None
    output_delay: str | None = None
    scan_role: str = "controller"
    answer_within: str = "5 s"


def duration(option: str, text: str, low: int = 0, high: int = 3_600_000_000) -> int:
    """A duration of an option in us.  BadUsage if it is none."""
    try:
        return int(parse(text, Quantity(Dimension.DURATION, low, high)))
    except BadQuantity as error:
        hint = f"; {error.hint}" if error.hint else ""
        raise BadUsage(f"--{option} {text}: {error.message}{hint}") from None
