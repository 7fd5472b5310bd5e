"""The coupling of the travel sensor slips."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_each_drive
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site
from gatesim.units import Share


@dataclass(frozen=True)
class TravelSensorSlipping(Value):
    """The coupling of the travel sensor slips."""

    gain: Share = 0.9
    """Counted travel per real travel."""

    id: ClassVar[str] = "travel-sensor-slipping"
    title: ClassVar[str] = "The coupling of the travel sensor slips"
    row: ClassVar[tuple[str, ...]] = ("M5", "L8")
    found: ClassVar[FoundBy] = FoundBy.PRESS_TEST
    shows: ClassVar[str] = "The counted travel is less than the real one; each limit switch sets it right again."
    must: ClassVar[str] = "Compare the count between the limit switches with the travel on record."
    missed_by: ClassVar[str] = "Setting the position right at each end hides the slip."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_each_drive(site, "travel sensor", w.SensorGain)

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return value * self.gain


FAULT = TravelSensorSlipping()
