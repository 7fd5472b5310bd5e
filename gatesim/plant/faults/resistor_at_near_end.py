"""The termination resistor sits at the controller's end of the lead."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_loops, resting
from gatesim.plant.faults.shapes import Value
from gatesim.plant.nets import members
from gatesim.plant.site import Edge, Site
from gatesim.units import Resistance


@dataclass(frozen=True)
class ResistorAtNearEnd(Value):
    """The termination resistor sits at the controller's end of the lead."""

    ohm: Resistance = 8_200.0

    id: ClassVar[str] = "resistor-at-near-end"
    title: ClassVar[str] = "The termination resistor sits at the controller's end of the lead"
    row: ClassVar[tuple[str, ...]] = ("R6",)
    found: ClassVar[FoundBy] = FoundBy.PRESS_TEST
    shows: ClassVar[str] = "The loop reads as at rest whatever the strip and the lead do."
    must: ClassVar[str] = "Nothing electrical shows it: each edge is pressed after fitting, and the press is recorded."
    missed_by: ClassVar[str] = "Commissioning is passed on the reading alone."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_loops(site, lambda edge: (w.Loop(edge.name),), lambda edge: self._fitted(site, edge))

    def _fitted(self, site: Site, edge: Edge) -> ResistorAtNearEnd:
        """The resistor of the edge, or what the resistors of all edges on the loop come to."""
        alone = len(members(site, edge.name)) == 1
        return replace(self, ohm=edge.termination if alone else resting(site, edge))

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return self.ohm


FAULT = ResistorAtNearEnd()
