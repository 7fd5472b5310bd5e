"""The contact of an aged strip closes badly."""

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
class WeakContact(Value):
    """The contact of an aged strip closes badly."""

    ohm: Resistance = 3_000.0
    """Of the closed contact."""

    id: ClassVar[str] = "weak-contact"
    title: ClassVar[str] = "The contact of an aged strip closes badly"
    row: ClassVar[tuple[str, ...]] = ("R3",)
    found: ClassVar[FoundBy] = FoundBy.PRESS_TEST
    acts_on_begin: ClassVar[bool] = False
    shows: ClassVar[str] = "At rest nothing; pressed, the loop reads between its band and a good contact."
    must: ClassVar[str] = (
        "Take everything under the band for a press; a press test that writes the reading down shows the ageing."
    )
    missed_by: ClassVar[str] = "Only a reading near zero counts as a press; what lies between is called odd and logged."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_edges(site, lambda edge: (w.StripContact(edge.name),), which=closes)

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return None if value is None else self.ohm


FAULT = WeakContact()
