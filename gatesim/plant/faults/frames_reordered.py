"""Frames arrive in the wrong order."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_transmitters
from gatesim.plant.faults.shapes import Value
from gatesim.plant.logic.contract import Frame
from gatesim.plant.part import state
from gatesim.plant.site import Site


@state
class Kept:
    """The frame that is overtaken."""

    frame: Frame | None


class FramesReordered(Value):
    """Frames arrive in the wrong order."""

    id: ClassVar[str] = "frames-reordered"
    title: ClassVar[str] = "Frames arrive in the wrong order"
    row: ClassVar[tuple[str, ...]] = ("C3",)
    found: ClassVar[FoundBy] = FoundBy.NEVER
    acts_on_begin: ClassVar[bool] = False
    shows: ClassVar[str] = "Of two frames the newer comes first and the older right after it."
    must: ClassVar[str] = "Keep the newer by its counter, modulo its length, and throw the older away."
    missed_by: ClassVar[str] = "Any other counter counts as a new one, so that an old release hides a press."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_transmitters(site, lambda node: (w.Uplink(node.name),))

    def initial(self) -> Kept:
        return Kept(None)

    def relays(self, state: Kept, message: Any, now: float) -> tuple[Any, ...]:
        if state.frame is None:
            state.frame = message
            return ()
        older, state.frame = state.frame, None
        return (message, older)


FAULT = FramesReordered()
