"""The read-back of a contactor is stuck open."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_contactors
from gatesim.plant.faults.shapes import Held
from gatesim.plant.site import Site


class ContactorReadBackStuck(Held):
    """The read-back of a contactor is stuck open."""

    level: ClassVar[Any] = False

    id: ClassVar[str] = "contactor-read-back-stuck"
    title: ClassVar[str] = "The read-back of a contactor is stuck open"
    row: ClassVar[tuple[str, ...]] = ("M1", "X1")
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    shows: ClassVar[str] = "It says open while the contactor is closed."
    must: ClassVar[str] = "Demand that the read-back follows both ways; one that does not is a fault of the drive."
    missed_by: ClassVar[str] = "The read-back is looked at only when it should be open."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_contactors(site, w.ContactorReadBack)


FAULT = ContactorReadBackStuck()
