"""The converter's own reference drifts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_nodes
from gatesim.plant.faults.shapes import Value
from gatesim.plant.part import state
from gatesim.plant.site import Site
from gatesim.units import FOREVER, Duration, Share


@state
class Drift:
    """How many steps it has drifted, and when it goes on (negative: not begun)."""

    steps: int
    due: float


@dataclass(frozen=True)
class ReferenceDrift(Value):
    """The converter's own reference drifts."""

    less: Share = 0.0025
    """Of a code, by which each step lowers it."""
    step: Duration = 100_000
    """How long a step lasts.  Far faster than in life."""
    most: int = 40
    """Steps in all."""

    id: ClassVar[str] = "reference-drift"
    title: ClassVar[str] = "The converter's own reference drifts"
    row: ClassVar[tuple[str, ...]] = ("A3",)
    found: ClassVar[FoundBy] = FoundBy.CONTINUOUSLY
    acts_on_begin: ClassVar[bool] = False
    shows: ClassVar[str] = "All codes sink together, the reference channel's too, a little more with each step."
    must: ClassVar[str] = "Check the reference channel in each scan; with a wrong one no reading is worth anything."
    missed_by: ClassVar[str] = "Thresholds are compared without looking at the reference."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_nodes(
            site, lambda node, edges: (*tuple([w.Code(edge.name) for edge in edges]), w.ReferenceCode(node.name))
        )

    def initial(self) -> Drift:
        return Drift(0, -1.0)

    def passes(self, state: Drift, value: Any, now: float) -> Any:
        return int(value * (1 - self.less * state.steps) // 1)

    def tick(self, state: Drift, now: float) -> tuple[Any, ...]:
        if state.due < 0:
            state.due = now
        if state.due <= now:
            state.steps += 1
            state.due = now + self.step if state.steps < self.most else FOREVER
        return ()

    def deadline(self, state: Drift, now: float) -> float:
        return state.due if state.due >= 0 else now


FAULT = ReferenceDrift()
