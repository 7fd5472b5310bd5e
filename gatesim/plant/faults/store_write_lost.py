"""The non-volatile store takes no more writes."""

from __future__ import annotations

from typing import ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_drive
from gatesim.plant.faults.shapes import Frozen
from gatesim.plant.site import Site


class StoreWriteLost(Frozen):
    """The non-volatile store takes no more writes."""

    id: ClassVar[str] = "store-write-lost"
    title: ClassVar[str] = "The non-volatile store takes no more writes"
    row: ClassVar[tuple[str, ...]] = ("P6", "P8")
    found: ClassVar[FoundBy] = FoundBy.PRESS_TEST
    shows: ClassVar[str] = "What is to be kept never reaches the store, which goes on holding what it held."
    must: ClassVar[str] = "Read back what was written; without that only power off and on in a lockout shows it."
    missed_by: ClassVar[str] = "Writing is taken for keeping, and the lockout goes with the power."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_drive("store", w.ToStore())


FAULT = StoreWriteLost()
