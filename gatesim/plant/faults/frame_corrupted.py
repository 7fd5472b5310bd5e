"""Frames arrive damaged."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy, Level
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_transmitters
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import Site


class FrameCorrupted(Value):
    """Frames arrive damaged."""

    id: ClassVar[str] = "frame-corrupted"
    title: ClassVar[str] = "Frames arrive damaged"
    row: ClassVar[tuple[str, ...]] = ("C1",)
    found: ClassVar[FoundBy] = FoundBy.NEXT_CHECK_IN
    shows: ClassVar[str] = "Every frame comes with flipped bits, and a check sum that does not fit."
    must: ClassVar[str] = "Discard it before anything else is done with it, the watchdog included."
    missed_by: ClassVar[str] = "The watchdog is re-armed before the check sum is looked at."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_transmitters(site, lambda node: (w.Uplink(node.name),))

    def relays(self, state: Any, message: Any, now: float) -> tuple[Any, ...]:
        return (
            message._replace(counter=message.counter ^ 0x55, levels=(Level.REST,) * len(message.levels), sound=False),
        )


FAULT = FrameCorrupted()
