"""A limit switch does not close."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_limit_switches
from gatesim.plant.faults.shapes import Held
from gatesim.plant.site import Site


class LimitSwitchStuckOpen(Held):
    """A limit switch does not close."""

    level: ClassVar[Any] = False

    id: ClassVar[str] = "limit-switch-stuck-open"
    title: ClassVar[str] = "A limit switch does not close"
    row: ClassVar[tuple[str, ...]] = ("M4",)
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    shows: ClassVar[str] = "The leaf runs on against its end stop, and the switch says nothing."
    must: ClassVar[str] = "Limit the travel time in both directions and watch the motion; lock out."
    missed_by: ClassVar[str] = "The drive pushes until a switch closes that never will."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_limit_switches(site)


FAULT = LimitSwitchStuckOpen()
