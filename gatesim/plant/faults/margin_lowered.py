"""Another sender lowers the margin of a link."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_transmitters
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site
from gatesim.units import Gain


@dataclass(frozen=True)
class MarginLowered(Value):
    """Another sender lowers the margin of a link.  Only where the site has a link budget for it."""

    takes: Gain = 20.0

    id: ClassVar[str] = "margin-lowered"
    title: ClassVar[str] = "Another sender lowers the margin of a link"
    row: ClassVar[tuple[str, ...]] = ("C12",)
    found: ClassVar[FoundBy] = FoundBy.NEVER
    shows: ClassVar[str] = "More frames are lost, most where the margin was small already; some still come through."
    must: ClassVar[str] = (
        "Take silence that outlasts the watchdog for a lost link; keep a reserve of margin, for nothing in service "
        "measures it."
    )
    missed_by: ClassVar[str] = "The link is tried out on a quiet day, near the receiver."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_transmitters(site, lambda node: (w.MarginTaken(node.name),),
                               which=lambda node: node.radio is not None)

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return value + self.takes


FAULT = MarginLowered()
