"""Dirt bridges the strip: it reads as pressed although nothing presses it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_edges, closes
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site
from gatesim.units import Resistance


@dataclass(frozen=True)
class StripBridged(Value):
    """Dirt bridges the strip: it reads as pressed although nothing presses it."""

    ohm: Resistance = 400.0

    id: ClassVar[str] = "strip-bridged"
    title: ClassVar[str] = "Dirt bridges the strip: it reads as pressed although nothing presses it"
    row: ClassVar[tuple[str, ...]] = ("R2", "R10")
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    as_press: ClassVar[bool] = True
    shows: ClassVar[str] = "The strip's contact is closed by itself, through some hundred ohms."
    must: ClassVar[str] = "As a press: a demand in motion, a fault when it lasts at rest."
    missed_by: ClassVar[str] = "A press without contact of the leaf is taken for noise."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_edges(site, lambda edge: (w.StripContact(edge.name),), which=closes)

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return self.ohm if value is None else min(value, self.ohm)


FAULT = StripBridged()
