"""Moisture leaks across the loop, a little more with each step."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_loops
from gatesim.plant.faults.shapes import Value
from gatesim.plant.part import state
from gatesim.plant.site import Site
from gatesim.units import FOREVER, Duration, Resistance


@state
class Leak:
    """How many steps the leak has grown, and when it grows next (negative: not begun)."""

    steps: int
    due: float


@dataclass(frozen=True)
class LeakageSlow(Value):
    """Moisture leaks across the loop, a little more with each step."""

    first: Resistance = 200_000.0
    """The leak of the first step; that of step n is its n-th part."""
    step: Duration = 10_000_000
    """How long a step lasts."""
    least: Resistance = 500.0
    """The leak gets no worse than this."""

    id: ClassVar[str] = "leakage-slow"
    title: ClassVar[str] = "Moisture leaks across the loop, a little more with each step"
    row: ClassVar[tuple[str, ...]] = ("R4",)
    found: ClassVar[FoundBy] = FoundBy.PRESS_TEST
    acts_on_begin: ClassVar[bool] = False
    shows: ClassVar[str] = "The reading at rest sinks in small steps until it leaves the band and looks like a press."
    must: ClassVar[str] = (
        "Trip at the edge of a fixed band; before that only a reading written down at each test shows the trend."
    )
    missed_by: ClassVar[str] = "A baseline that adjusts itself follows the drift until a press no longer stands out."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_loops(site, lambda edge: (w.Loop(edge.name),))

    def initial(self) -> Leak:
        return Leak(0, -1.0)

    def passes(self, state: Leak, value: Any, now: float) -> Any:
        if state.steps == 0:
            return value
        leak = max(self.first / state.steps, self.least)
        return value * leak / (value + leak)

    def tick(self, state: Leak, now: float) -> tuple[Any, ...]:
        if state.due < 0:
            state.due = now
        if state.due <= now:
            state.steps += 1
            worst = self.first / state.steps <= self.least
            state.due = FOREVER if worst else now + self.step
        return ()

    def deadline(self, state: Leak, now: float) -> float:
        return state.due if state.due >= 0 else now


FAULT = LeakageSlow()
