"""A strip stays pressed together after it was hit."""

from __future__ import annotations

from typing import ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_edges
from gatesim.plant.faults.shapes import Latched
from gatesim.plant.site import Site


class StaysPressed(Latched):
    """A strip stays pressed together after it was hit."""

    id: ClassVar[str] = "stays-pressed"
    title: ClassVar[str] = "A strip stays pressed together after it was hit"
    row: ClassVar[tuple[str, ...]] = ("R10",)
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    as_press: ClassVar[bool] = True
    shows: ClassVar[str] = "The press goes on after the obstruction has gone."
    must: ClassVar[str] = (
        "Move only away from it; as a press that outlasts its limit it is a fault until it is restored and reset."
    )
    missed_by: ClassVar[str] = "The press is forgotten after a while."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_edges(site, lambda edge: (w.StripPressed(edge.name),))


FAULT = StaysPressed()
