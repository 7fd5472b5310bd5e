"""A contactor of the drive is welded."""

from __future__ import annotations

from typing import ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_contactors
from gatesim.plant.faults.shapes import Latched
from gatesim.plant.site import Site


class ContactorWelded(Latched):
    """A contactor of the drive is welded."""

    id: ClassVar[str] = "contactor-welded"
    title: ClassVar[str] = "A contactor of the drive is welded"
    row: ClassVar[tuple[str, ...]] = ("M1",)
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    shows_late: ClassVar[str] = "closed is as ordered while its direction is driven; the next stop finds it"
    shows: ClassVar[str] = "It stays closed once it has closed; its read-back says so."
    must: ClassVar[str] = "Compare the read-back with the order and open the independent main shut-off."
    missed_by: ClassVar[str] = "Both cut-off paths hang on one output, and none is read back."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_contactors(site, w.Contactor)


FAULT = ContactorWelded()
