"""One bit of the converter is stuck at one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_nodes
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site


@dataclass(frozen=True)
class ConverterStuckBit(Value):
    """One bit of the converter is stuck at one."""

    bit: int = 4
    """Its number, from 0."""

    id: ClassVar[str] = "converter-stuck-bit"
    title: ClassVar[str] = "One bit of the converter is stuck at one"
    row: ClassVar[tuple[str, ...]] = ("A4",)
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    acts_on_begin: ClassVar[bool] = False
    shows: ClassVar[str] = (
        "Codes in which the bit should be zero are too high by its weight, the reference code among them."
    )
    must: ClassVar[str] = (
        "Read a known reference in every scan and hold it to a few codes; better, several that differ in every bit."
    )
    missed_by: ClassVar[str] = "The only known point has that bit set anyway, or none is read."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_nodes(
            site, lambda node, edges: (*tuple([w.Code(edge.name) for edge in edges]), w.ReferenceCode(node.name))
        )

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return value | 1 << self.bit if value >= 0 else value


FAULT = ConverterStuckBit()
