"""The converter gives a code outside its range."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_loops
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site


@dataclass(frozen=True)
class OverRangeCode(Value):
    """The converter gives a code outside its range."""

    code: int = -1

    id: ClassVar[str] = "over-range-code"
    title: ClassVar[str] = "The converter gives a code outside its range"
    row: ClassVar[tuple[str, ...]] = ("A6",)
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    shows: ClassVar[str] = "The code of the loop is -1, which no converter can read."
    must: ClassVar[str] = (
        "Check the range before anything is made of a code; what is out of it is an invalid reading, a fault."
    )
    missed_by: ClassVar[str] = "A code that fits no branch leaves the last level standing."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_loops(site, lambda edge: (w.Code(edge.name),))

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return self.code


FAULT = OverRangeCode()
