"""A transmitter's cell is dead."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_transmitters
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site


class CellDead(Value):
    """A transmitter's cell is dead."""

    id: ClassVar[str] = "cell-dead"
    title: ClassVar[str] = "A transmitter's cell is dead"
    row: ClassVar[tuple[str, ...]] = ("P1", "C4")
    found: ClassVar[FoundBy] = FoundBy.NEXT_CHECK_IN
    shows: ClassVar[str] = "There is no voltage, and so no frame any more."
    must: ClassVar[str] = "Find the silence by the watchdog, as with any lost link."
    missed_by: ClassVar[str] = "Missed check-ins are counted only when the next one arrives."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_transmitters(site, lambda node: (w.CellTerminals(node.name),))

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return value._replace(open_voltage=0.0)


FAULT = CellDead()
