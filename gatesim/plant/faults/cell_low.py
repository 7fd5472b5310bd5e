"""A transmitter's cell runs low."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.cell_figures import fresh, sag
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_transmitters
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site, Transmitter
from gatesim.units import Voltage


@dataclass(frozen=True)
class CellLow(Value):
    """A transmitter's cell runs low."""

    open_voltage: Voltage = 2_900.0

    id: ClassVar[str] = "cell-low"
    title: ClassVar[str] = "A transmitter's cell runs low"
    row: ClassVar[tuple[str, ...]] = ("P1",)
    found: ClassVar[FoundBy] = FoundBy.NEXT_CHECK_IN
    shows: ClassVar[str] = "The voltage in a burst lies between low and critical."
    must: ClassVar[str] = "Announce it at each move, with a margin of time before it becomes critical; motion goes on."
    missed_by: ClassVar[str] = "Low is a lamp that nobody sees."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_transmitters(site, lambda node: (w.CellTerminals(node.name),), lambda node: self._fitted(site, node))

    def _fitted(self, site: Site, node: Transmitter) -> CellLow:
        """Half way between the two figures when loaded."""
        loaded = (node.cell.low_voltage + node.cell.critical_voltage) / 2
        return replace(self, open_voltage=loaded + sag(fresh(site, node), node.burst_current))

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return value._replace(open_voltage=min(value.open_voltage, self.open_voltage))


FAULT = CellLow()
