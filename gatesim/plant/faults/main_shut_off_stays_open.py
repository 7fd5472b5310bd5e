"""The main shut-off does not close."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_drive
from gatesim.plant.faults.shapes import Held
from gatesim.plant.site import Site


class MainShutOffStaysOpen(Held):
    """The main shut-off does not close."""

    level: ClassVar[Any] = False

    id: ClassVar[str] = "main-shut-off-stays-open"
    title: ClassVar[str] = "The main shut-off does not close"
    row: ClassVar[tuple[str, ...]] = ("M3",)
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    shows: ClassVar[str] = "Ordered to move, the leaf stands; the read-back stays open."
    must: ClassVar[str] = "Compare the read-back with the order, and lock out."
    missed_by: ClassVar[str] = "The order is taken for the motion."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_drive("main shut-off", w.MainContact())


FAULT = MainShutOffStaysOpen()
