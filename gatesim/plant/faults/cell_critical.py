"""A transmitter's cell is nearly empty."""

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
class CellCritical(Value):
    """A transmitter's cell is nearly empty."""

    open_voltage: Voltage = 2_500.0

    id: ClassVar[str] = "cell-critical"
    title: ClassVar[str] = "A transmitter's cell is nearly empty"
    row: ClassVar[tuple[str, ...]] = ("P1", "P10")
    found: ClassVar[FoundBy] = FoundBy.NEXT_CHECK_IN
    shows: ClassVar[str] = "The voltage in a burst lies under critical, and frames still go out."
    must: ClassVar[str] = "Treat critical as a supervision fault, latched until a fresh cell and a press were seen."
    missed_by: ClassVar[str] = "The flag clears itself when the cell has rested."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_transmitters(site, lambda node: (w.CellTerminals(node.name),), lambda node: self._fitted(site, node))

    def _fitted(self, site: Site, node: Transmitter) -> CellCritical:
        """Half way between the two figures when loaded."""
        loaded = (node.cell.critical_voltage + node.cell.dead_voltage) / 2
        return replace(self, open_voltage=loaded + sag(fresh(site, node), node.burst_current))

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return value._replace(open_voltage=min(value.open_voltage, self.open_voltage))


FAULT = CellCritical()
