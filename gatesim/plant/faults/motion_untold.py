"""A transmitter is told that the gate stands while it moves."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_transmitters
from gatesim.plant.faults.shapes import Value
from gatesim.plant.site import LearnsMotion, Site


class MotionUntold(Value):
    """A transmitter is told that the gate stands while it moves."""

    id: ClassVar[str] = "motion-untold"
    title: ClassVar[str] = "A transmitter is told that the gate stands while it moves"
    row: ClassVar[tuple[str, ...]] = ("C21", "T9")
    found: ClassVar[FoundBy] = FoundBy.NEXT_CHECK_IN
    acts_on_begin: ClassVar[bool] = False
    shows: ClassVar[str] = "Check-ins keep their slow period of rest during a move."
    must: ClassVar[str] = "Shorten the watchdog with the order to move, whatever the transmitter believes."
    missed_by: ClassVar[str] = "The watchdog keeps its long limit of rest in motion."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_transmitters(
            site, lambda node: (w.ToldMotion(node.name),), None, lambda node: node.learns_motion is LearnsMotion.TOLD
        )

    def relays(self, state: Any, message: Any, now: float) -> tuple[Any, ...]:
        return (message._replace(moving=False),)


FAULT = MotionUntold()
