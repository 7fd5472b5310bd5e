"""The read-back of the main shut-off is stuck closed."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_drive
from gatesim.plant.faults.shapes import Held
from gatesim.plant.site import Site


class MainReadBackStuck(Held):
    """The read-back of the main shut-off is stuck closed."""

    level: ClassVar[Any] = True

    id: ClassVar[str] = "main-read-back-stuck"
    title: ClassVar[str] = "The read-back of the main shut-off is stuck closed"
    row: ClassVar[tuple[str, ...]] = ("M1", "X1")
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    shows: ClassVar[str] = "It says closed while the main shut-off is open."
    must: ClassVar[str] = "Demand that the read-back follows both ways; one that does not refuses the start."
    missed_by: ClassVar[str] = "The read-back is looked at only when it should be closed."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_drive("main shut-off", w.MainReadBack())


FAULT = MainReadBackStuck()
