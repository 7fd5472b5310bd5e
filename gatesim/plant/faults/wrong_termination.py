"""A termination resistor of another value is fitted, still inside the band."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_loops, resting
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Edge, Site
from gatesim.units import Share


@dataclass(frozen=True)
class WrongTermination(Value):
    """A termination resistor of another value is fitted, still inside the band."""

    share: Share = 0.88
    """Of the reading that it should give."""

    id: ClassVar[str] = "wrong-termination"
    title: ClassVar[str] = "A termination resistor of another value is fitted, still inside the band"
    row: ClassVar[tuple[str, ...]] = ("H3",)
    found: ClassVar[FoundBy] = FoundBy.PRESS_TEST
    shows: ClassVar[str] = "The reading at rest is off by a good tenth and takes up the margin of the band."
    must: ClassVar[str] = "Keep the band narrow around the value on record; a written-down reading shows the rest."
    missed_by: ClassVar[str] = "A wide band takes any resistor."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_loops(site, lambda edge: (w.Loop(edge.name),), lambda edge: self._fitted(site, edge))

    def _fitted(self, site: Site, edge: Edge) -> WrongTermination:
        """Two thirds of the way from the value at rest to the band's lower end."""
        return replace(self, share=1 - (1 - edge.band_low / resting(site, edge)) * 2 / 3)

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return value * self.share


FAULT = WrongTermination()
