"""The main shut-off is welded."""

from __future__ import annotations

from typing import ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_drive
from gatesim.plant.faults.shapes import Latched
from gatesim.plant.site import Site


class MainShutOffWelded(Latched):
    """The main shut-off is welded."""

    id: ClassVar[str] = "main-shut-off-welded"
    title: ClassVar[str] = "The main shut-off is welded"
    row: ClassVar[tuple[str, ...]] = ("M1", "X1")
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    shows: ClassVar[str] = "It stays closed once it has closed; its read-back says so."
    must: ClassVar[str] = (
        "Let it open at each rest and prove by read-back that it does, or it hides until it is needed."
    )
    missed_by: ClassVar[str] = "Only the first cut-off path is ever tested."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_drive("main shut-off", w.MainContact())


FAULT = MainShutOffWelded()
