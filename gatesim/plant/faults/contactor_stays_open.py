"""A contactor of the drive does not close."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_contactors
from gatesim.plant.faults.shapes import Held
from gatesim.plant.site import Site


class ContactorStaysOpen(Held):
    """A contactor of the drive does not close."""

    level: ClassVar[Any] = False

    id: ClassVar[str] = "contactor-stays-open"
    title: ClassVar[str] = "A contactor of the drive does not close"
    row: ClassVar[tuple[str, ...]] = ("M3",)
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    shows: ClassVar[str] = "Ordered to move that way, the leaf stands; the read-back stays open."
    must: ClassVar[str] = "Watch the motion and the read-back: remove the force and lock out."
    missed_by: ClassVar[str] = "The order is taken for the motion."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_contactors(site, w.Contactor)


FAULT = ContactorStaysOpen()
