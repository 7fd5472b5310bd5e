"""Water runs through the profile of an edge and drains again."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_edges, closes
from gatesim.plant.faults.shapes import Value
from gatesim.plant.part import state
from gatesim.plant.site import Site
from gatesim.units import FOREVER, Duration, Resistance


@state
class Draining:
    """The leak now (ohm), and when it changes (negative: not begun)."""

    leak: float
    due: float


@dataclass(frozen=True)
class WaterInProfile(Value):
    """Water runs through the profile of an edge and drains again."""

    first: Resistance = 1_000.0
    """The leak at the beginning."""
    step: Duration = 1_000_000
    """After each step it has doubled."""
    last: Resistance = 200_000.0
    """Above it there is no leak any more."""

    id: ClassVar[str] = "water-in-profile"
    title: ClassVar[str] = "Water runs through the profile of an edge and drains again"
    row: ClassVar[tuple[str, ...]] = ("R15",)
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    as_press: ClassVar[bool] = True
    shows: ClassVar[str] = "A sudden leak across the open strip reads as a press and fades in steps until it is gone."
    must: ClassVar[str] = "Answer it as a press at once; found in motion it stays on record although it heals."
    missed_by: ClassVar[str] = "It is debounced away because it heals."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_edges(site, lambda edge: (w.StripContact(edge.name),), which=closes)

    def initial(self) -> Draining:
        return Draining(self.first, -1.0)

    def passes(self, state: Draining, value: Any, now: float) -> Any:
        if state.leak > self.last:
            return value
        return state.leak if value is None else min(value, state.leak)

    def tick(self, state: Draining, now: float) -> tuple[Any, ...]:
        if state.due < 0:
            state.due = now + self.step
        elif state.due <= now:
            state.leak *= 2
            state.due = now + self.step if state.leak <= self.last else FOREVER
        return ()

    def deadline(self, state: Draining, now: float) -> float:
        return state.due if state.due >= 0 else now


FAULT = WaterInProfile()
