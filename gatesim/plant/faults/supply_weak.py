"""The operator's supply gives way under the inrush of a start."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_drive
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site


@dataclass(frozen=True)
class SupplyWeak(Value):
    """The operator's supply gives way under the inrush of a start."""

    factor: float = 1e6
    """Times the thrust that a start asks for."""

    id: ClassVar[str] = "supply-weak"
    title: ClassVar[str] = "The operator's supply gives way under the inrush of a start"
    row: ClassVar[tuple[str, ...]] = ("P12",)
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    acts_on_begin: ClassVar[bool] = False
    shows: ClassVar[str] = "Each start of the leaf, that of a reversal as well, pulls the supply down for a moment."
    must: ClassVar[str] = "Come back safe and do not resume the reversal by itself."
    missed_by: ClassVar[str] = "It was tested on a strong bench supply."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_drive("supply", w.Load())

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return value * self.factor


FAULT = SupplyWeak()
