"""The motion sense of a transmitter feels nothing."""

from __future__ import annotations

from typing import Any, ClassVar

from gatesim.events import FoundBy
from gatesim.plant import wires as w
from gatesim.plant.fault import Place
from gatesim.plant.faults.places import at_transmitters
from gatesim.plant.faults.shapes import Held
from gatesim.plant.site import LearnsMotion, Site


class MotionSenseStuck(Held):
    """The motion sense of a transmitter feels nothing."""

    level: ClassVar[Any] = False

    id: ClassVar[str] = "motion-sense-stuck"
    title: ClassVar[str] = "The motion sense of a transmitter feels nothing"
    row: ClassVar[tuple[str, ...]] = ("C21", "T9")
    found: ClassVar[FoundBy] = FoundBy.NEXT_CHECK_IN
    shows: ClassVar[str] = "Check-ins keep their slow period of rest during a move."
    must: ClassVar[str] = "Shorten the watchdog with the order to move, whatever the transmitter believes."
    missed_by: ClassVar[str] = "The watchdog keeps its long limit of rest in motion."

    def places(self, site: Site) -> tuple[Place, ...]:
        return at_transmitters(
            site, lambda node: (w.MotionFelt(node.name),), None, lambda node: node.learns_motion is LearnsMotion.FELT
        )


FAULT = MotionSenseStuck()
