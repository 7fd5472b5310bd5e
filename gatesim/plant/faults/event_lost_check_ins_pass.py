"""Frames that tell of a change are lost while check-ins pass."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, ClassVar

from gatesim.events import FoundBy, Level
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_transmitters
from gatesim.plant.faults.shapes import Value
from gatesim.plant.part import state
from gatesim.plant.site import Site


@state
class Changes:
    """The levels last sent, and how many frames are still lost."""

    levels: tuple[Level, ...] | None
    left: int


@dataclass(frozen=True)
class EventLostCheckInsPass(Value):
    """Frames that tell of a change are lost while check-ins pass."""

    first: int = 3
    """How many frames after a change are lost."""

    id: ClassVar[str] = "event-lost-check-ins-pass"
    title: ClassVar[str] = "Frames that tell of a change are lost while check-ins pass"
    row: ClassVar[tuple[str, ...]] = ("C15",)
    found: ClassVar[FoundBy] = FoundBy.NEVER
    acts_on_begin: ClassVar[bool] = False
    shows: ClassVar[str] = "The first frames after each change of a level never arrive; the next check-in does."
    must: ClassVar[str] = "Carry the level in every frame, so that the next check-in brings it, late by one period."
    missed_by: ClassVar[str] = "A press is sent once, as an event."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_transmitters(
            site, lambda node: (w.Uplink(node.name),), lambda node: replace(self, first=node.event_repeats)
        )

    def initial(self) -> Changes:
        return Changes(None, 0)

    def relays(self, state: Changes, message: Any, now: float) -> tuple[Any, ...]:
        if state.levels is not None and message.levels != state.levels:
            state.left = self.first
        state.levels = message.levels
        if state.left == 0:
            return (message,)
        state.left -= 1
        return ()


FAULT = EventLostCheckInsPass()
