"""The force sensing's output is stuck on."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_force
from gatesim.plant.faults.shapes import Held
from gatesim.plant.site import Site


class ForceTripStuck(Held):
    """The force sensing's output is stuck on."""

    level: ClassVar[Any] = True

    id: ClassVar[str] = "force-trip-stuck"
    title: ClassVar[str] = "The force sensing's output is stuck on"
    row: ClassVar[tuple[str, ...]] = ("A8", "M12")
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    as_press: ClassVar[bool] = True
    shows: ClassVar[str] = "The force sensing reports a trip without any force."
    must: ClassVar[str] = "Answer it as a demand in motion, refuse the start at rest."
    missed_by: ClassVar[str] = "A trip that does not go away is ignored after a while."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_force(site, w.ForceTrip)


FAULT = ForceTripStuck()
