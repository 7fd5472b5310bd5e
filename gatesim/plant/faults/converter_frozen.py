"""The converter's result no longer changes."""

from __future__ import annotations

from typing import ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_nodes
from gatesim.plant.faults.shapes import Frozen
from gatesim.plant.site import Site


class ConverterFrozen(Frozen):
    """The converter's result no longer changes."""

    id: ClassVar[str] = "converter-frozen"
    title: ClassVar[str] = "The converter's result no longer changes"
    row: ClassVar[tuple[str, ...]] = ("A1",)
    found: ClassVar[FoundBy] = FoundBy.PRESS_TEST
    shows: ClassVar[str] = "Every channel, the reference as well, goes on giving the code it had."
    must: ClassVar[str] = (
        "A test pulse has to move the reading; without one only a press shows it, so the press test is the remedy."
    )
    missed_by: ClassVar[str] = "Only the range of a reading is checked."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_nodes(
            site, lambda node, edges: (*tuple([w.Code(edge.name) for edge in edges]), w.ReferenceCode(node.name))
        )


FAULT = ConverterFrozen()
