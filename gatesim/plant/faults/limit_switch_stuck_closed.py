"""A limit switch stays closed."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_limit_switches
from gatesim.plant.faults.shapes import Held
from gatesim.plant.site import Site


class LimitSwitchStuckClosed(Held):
    """A limit switch stays closed."""

    level: ClassVar[Any] = True

    id: ClassVar[str] = "limit-switch-stuck-closed"
    title: ClassVar[str] = "A limit switch stays closed"
    row: ClassVar[tuple[str, ...]] = ("M4",)
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    shows: ClassVar[str] = "The switch says end of travel wherever the leaf is."
    must: ClassVar[str] = "Compare the switch with the position and with the other switch; lock out."
    missed_by: ClassVar[str] = "The end is believed, and the gate counts as closed."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_limit_switches(site)


FAULT = LimitSwitchStuckClosed()
