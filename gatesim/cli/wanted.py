"""Which logic a command line asks for and how it is to be called; what is to stand beside a check's verdicts."""

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

    def given(self) -> tuple[str, ...]:
        """The options that ask for the same again."""
        usual = Wanted()
        asked = [(name, value) for name, value in self._asdict().items() if value != getattr(usual, name)]
        return tuple(word for name, value in asked for word in (f"--{name.replace('_', '-')}", value))


class WantedBeside(NamedTuple):
    """What a check is kept as and compared with, as given."""

    save: str | None = None
    against: str | None = None
    store: str | None = None
    percent: float = 20.0
    on_loss: str = "fail"
    golden: bool = False
    accept: bool = False

    @property
    def compares(self) -> bool:
        """Whether more is to be shown than verdicts."""
        return self.against is not None or self.golden


def duration(option: str, text: str, low: int = 0, high: int = 3_600_000_000) -> int:
    """A duration of an option in us.  BadUsage if it is none."""
    try:
        return int(parse(text, Quantity(Dimension.DURATION, low, high)))
    except BadQuantity as error:
        hint = f"; {error.hint}" if error.hint else ""
        raise BadUsage(f"--{option} {text}: {error.message}{hint}") from None
