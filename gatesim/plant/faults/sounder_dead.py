"""The sounder is dead."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_drive
from gatesim.plant.faults.shapes import Held
from gatesim.plant.site import Site


class SounderDead(Held):
    """The sounder is dead."""

    level: ClassVar[Any] = False

    id: ClassVar[str] = "sounder-dead"
    title: ClassVar[str] = "The sounder is dead"
    row: ClassVar[tuple[str, ...]] = ("L15",)
    found: ClassVar[FoundBy] = FoundBy.PRESS_TEST
    shows: ClassVar[str] = "The alarm is ordered and nothing sounds; the read-back says so."
    must: ClassVar[str] = "Read it back when it is ordered, and let it be heard at each test."
    missed_by: ClassVar[str] = "The order is taken for the sound."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_drive("sounder", w.Sound())


FAULT = SounderDead()
