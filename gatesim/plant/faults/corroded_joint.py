"""A joint in the lead has corroded."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_loops, resting
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Edge, Site
from gatesim.units import Resistance


@dataclass(frozen=True)
class CorrodedJoint(Value):
    """A joint in the lead has corroded."""

    ohm: Resistance = 6_000.0
    """In series with the loop."""

    id: ClassVar[str] = "corroded-joint"
    title: ClassVar[str] = "A joint in the lead has corroded"
    row: ClassVar[tuple[str, ...]] = ("R5",)
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    shows: ClassVar[str] = "A resistance in series lifts the reading above the band without opening the loop."
    must: ClassVar[str] = "Hold an upper limit too: above the band is a fault."
    missed_by: ClassVar[str] = "Only the lower limit of the band is checked."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_loops(site, lambda edge: (w.Loop(edge.name),), lambda edge: self._fitted(site, edge))

    def _fitted(self, site: Site, edge: Edge) -> CorrodedJoint:
        """Half way between the band and an open loop, at rest."""
        return replace(self, ohm=max((edge.band_high + edge.open_above) / 2 - resting(site, edge), 1.0))

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return value + self.ohm


FAULT = CorrodedJoint()
