"""The travel sensor has come off."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_each_drive
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site


class TravelSensorFrozen(Value):
    """The travel sensor has come off."""

    id: ClassVar[str] = "travel-sensor-frozen"
    title: ClassVar[str] = "The travel sensor has come off"
    row: ClassVar[tuple[str, ...]] = ("M5", "M9")
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    shows: ClassVar[str] = "The leaf moves and nothing is counted."
    must: ClassVar[str] = "Take no counted motion on an order for a fault: remove the force and lock out."
    missed_by: ClassVar[str] = "The position is believed because it is plausible."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_each_drive(site, "travel sensor", w.SensorGain)

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return 0.0


FAULT = TravelSensorFrozen()
