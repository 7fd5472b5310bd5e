"""The drive turns the wrong way."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_each_drive
from gatesim.plant.faults.shapes import Held
from gatesim.plant.site import Site


class DriveDirectionSwapped(Held):
    """The drive turns the wrong way."""

    level: ClassVar[Any] = False

    id: ClassVar[str] = "drive-direction-swapped"
    title: ClassVar[str] = "The drive turns the wrong way"
    row: ClassVar[tuple[str, ...]] = ("L12",)
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    shows: ClassVar[str] = "An order to open closes the gate, and the other way round."
    must: ClassVar[str] = "Compare the motion with the order in its first moments, and lock out."
    missed_by: ClassVar[str] = "Only the limit switches are compared, at the end of the way."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_each_drive(site, "drive", w.DriveDirection)


FAULT = DriveDirectionSwapped()
