"""A part that holds one level on one wire: a quantity that changes only by a fault."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import Stimulus
from gatesim.plant.part import Out, Phase, Wire, state
from gatesim.units import FOREVER


@state
class Nothing:
    """The state of a part that has none."""


@dataclass(frozen=True, slots=True)
class Given:
    """Writes `level` on `wire`, for ever."""

    wire: Wire
    level: Any
    name: str = ""
    phase: ClassVar[Phase] = Phase.ARRIVE
    rank: ClassVar[int] = 0
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    def reads(self) -> tuple[Wire, ...]:
        return ()

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((self.wire, self.level),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> Nothing:
        return Nothing()

    def react(self, state: Nothing, now: float, seen: list[Any], out: Out) -> float:
        return FOREVER
