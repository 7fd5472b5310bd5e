"""The operator's supply dips."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_drive
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site
from gatesim.units import Force


@dataclass(frozen=True)
class SupplyDip(Value):
    """The operator's supply dips."""

    load: Force = 1e12
    """Thrust that the other load is worth; more than any supply bears."""

    id: ClassVar[str] = "supply-dip"
    title: ClassVar[str] = "The operator's supply dips"
    row: ClassVar[tuple[str, ...]] = ("P4", "P5")
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    shows: ClassVar[str] = "Another load pulls the supply down for a moment; everything on it starts anew."
    must: ClassVar[str] = "Come back knowing nothing: no motion, devices not yet heard, lockouts restored."
    missed_by: ClassVar[str] = "A kept flag of motion resumes the move."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_drive("supply", w.Load())

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return value + self.load


FAULT = SupplyDip()
