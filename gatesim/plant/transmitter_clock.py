"""A transmitter's clock for check-ins where the site says that it errs: by temperature, and with a low cell.

Without a `clock` table there is only the constant 1 on the wire (transmitter.py).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import Stimulus
from gatesim.plant.cell import loaded
from gatesim.plant.clocks import error_at
from gatesim.plant.given import Nothing
from gatesim.plant.part import Bench, Out, Part, Phase, Wire
from gatesim.plant.site import Site
from gatesim.plant.wires import CellTerminals, CheckInClock
from gatesim.units import FOREVER


@dataclass(frozen=True, slots=True)
class TransmitterClock:
    """Stretches check-ins by `stretch`, and by `when_low` while the loaded cell is below its low voltage."""

    name: str
    stretch: float
    when_low: float
    low_voltage: float
    burst_current: float

    phase: ClassVar[Phase] = Phase.SENSE
    rank: ClassVar[int] = 36
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    def reads(self) -> tuple[Wire, ...]:
        return (CellTerminals(self.name),)

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((CheckInClock(self.name), self.stretch),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> Nothing:
        return Nothing()

    def react(self, state: Nothing, now: float, seen: list[Any], out: Out) -> float:
        low = loaded(seen[0], self.burst_current) < self.low_voltage
        out.put(0, self.when_low if low else self.stretch)
        return FOREVER


def parts(site: Site, bench: Bench) -> Iterable[Part]:
    """A clock per transmitter that has a table for it."""
    for node in site.transmitters:
        if node.clock is not None:
            errs = 1 + error_at(node.clock, site.coldest)
            yield TransmitterClock(node.name, errs, errs + node.clock.low_battery, node.cell.low_voltage,
                                   node.burst_current)
