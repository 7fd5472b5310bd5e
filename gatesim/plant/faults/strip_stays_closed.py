"""A strip that opens when pressed stays closed: welded, or bridged by dirt."""

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
class StripStaysClosed(Value):
    """A strip that opens when pressed stays closed: welded, or bridged by dirt."""

    ohm: Resistance = 1.0
    """Across the contact."""

    id: ClassVar[str] = "strip-stays-closed"
    title: ClassVar[str] = "A strip that opens when pressed stays closed: welded, or bridged by dirt"
    row: ClassVar[tuple[str, ...]] = ("R13",)
    found: ClassVar[FoundBy] = FoundBy.PRESS_TEST
    acts_on_begin: ClassVar[bool] = False
    shows: ClassVar[str] = "Nothing at rest; a press does not open the loop."
    must: ClassVar[str] = (
        "Nothing electrical shows it at rest: each edge is pressed at its test, and the force sensing must meet the "
        "contact."
    )
    missed_by: ClassVar[str] = "A loop that can be broken by a wire is believed to be broken by a press as well."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_edges(site, lambda edge: (w.StripContact(edge.name),), which=lambda edge: not closes(edge))

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return self.ohm if value is None else value


FAULT = StripStaysClosed()
