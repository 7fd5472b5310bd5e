"""The last frame is heard again and again after the link is cut."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_transmitters
from gatesim.plant.faults.shapes import Value
from gatesim.plant.logic.contract import Frame
from gatesim.plant.part import state
from gatesim.plant.site import Site
from gatesim.units import FOREVER, Duration


@state
class Last:
    """The frame that is heard again, and when."""

    frame: Frame | None
    due: float


@dataclass(frozen=True)
class FramesRepeated(Value):
    """The last frame is heard again and again after the link is cut."""

    every: Duration = 100_000

    id: ClassVar[str] = "frames-repeated"
    title: ClassVar[str] = "The last frame is heard again and again after the link is cut"
    row: ClassVar[tuple[str, ...]] = ("C2",)
    found: ClassVar[FoundBy] = FoundBy.NEXT_CHECK_IN
    acts_on_begin: ClassVar[bool] = False
    shows: ClassVar[str] = "The same counter and the same scan come on time, over and over."
    must: ClassVar[str] = "Discard a repetition and do not re-arm the watchdog by it."
    missed_by: ClassVar[str] = "A duplicate counts as a heartbeat."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_transmitters(site, lambda node: (w.Uplink(node.name),))

    def initial(self) -> Last:
        return Last(None, FOREVER)

    def relays(self, state: Last, message: Any, now: float) -> tuple[Any, ...]:
        if state.frame is not None:
            return ()
        state.frame, state.due = message, now + self.every
        return (message,)

    def tick(self, state: Last, now: float) -> tuple[Any, ...]:
        if state.due > now:
            return ()
        state.due = now + self.every
        return (state.frame,)

    def deadline(self, state: Last, now: float) -> float:
        return state.due


FAULT = FramesRepeated()
