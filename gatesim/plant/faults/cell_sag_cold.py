"""A cell that grows cold sags under load."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.cell_figures import fresh
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_transmitters
from gatesim.plant.faults.shapes import Value
from gatesim.plant.part import state
from gatesim.plant.site import Site, Transmitter
from gatesim.units import FOREVER, Duration, Resistance


@state
class Cooling:
    """How many steps it has cooled, and when it goes on (negative: not begun)."""

    done: int
    due: float


@dataclass(frozen=True)
class CellSagCold(Value):
    """A cell that grows cold sags under load."""

    resistance: Resistance = 45.0
    """Of the cell when it is cold through."""
    step: Duration = 500_000
    """How long a step lasts.  Far faster than in life."""
    steps: int = 4
    """In so many steps of equal size it gets cold."""

    id: ClassVar[str] = "cell-sag-cold"
    title: ClassVar[str] = "A cell that grows cold sags under load"
    row: ClassVar[tuple[str, ...]] = ("P2",)
    found: ClassVar[FoundBy] = FoundBy.NEXT_CHECK_IN
    acts_on_begin: ClassVar[bool] = False
    shows: ClassVar[str] = (
        "Without load the voltage stays that of a good cell; in a burst it falls further with each step, "
        "until under critical."
    )
    must: ClassVar[str] = "Measure in the burst, never at rest."
    missed_by: ClassVar[str] = "The voltage is measured between the bursts."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_transmitters(site, lambda node: (w.CellTerminals(node.name),), lambda node: self._fitted(site, node))

    def _fitted(self, site: Site, node: Transmitter) -> CellSagCold:
        """A fresh cell, loaded, comes half way between critical and dead."""
        cell, now = node.cell, fresh(site, node)
        sag = cell.open_voltage - (cell.critical_voltage + cell.dead_voltage) / 2
        return replace(self, resistance=max(sag * 1000 / (node.burst_current * now.settled), now.resistance))

    def initial(self) -> Cooling:
        return Cooling(0, -1.0)

    def passes(self, state: Cooling, value: Any, now: float) -> Any:
        warm = value.resistance
        return value._replace(resistance=max(warm, warm + (self.resistance - warm) * state.done / self.steps))

    def tick(self, state: Cooling, now: float) -> tuple[Any, ...]:
        if state.due < 0:
            state.due = now
        if state.due <= now:
            state.done += 1
            state.due = now + self.step if state.done < self.steps else FOREVER
        return ()

    def deadline(self, state: Cooling, now: float) -> float:
        return state.due if state.due >= 0 else now


FAULT = CellSagCold()
