"""The brake is worn and the leaf coasts on."""

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
class BrakeCoasting(Value):
    """The brake is worn and the leaf coasts on."""

    share: Share = 0.2
    """Of the deceleration that it should have."""

    id: ClassVar[str] = "brake-coasting"
    title: ClassVar[str] = "The brake is worn and the leaf coasts on"
    row: ClassVar[tuple[str, ...]] = ("M2", "M7")
    found: ClassVar[FoundBy] = FoundBy.PRESS_TEST
    shows: ClassVar[str] = "After a stop order the leaf slows far too gently."
    must: ClassVar[str] = (
        "Open the main shut-off when standstill does not come in time; below that limit only a measured stop shows it."
    )
    missed_by: ClassVar[str] = "The stop order is taken for the stop."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_each_drive(site, "brake", w.Deceleration)

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return value * self.share


FAULT = BrakeCoasting()
