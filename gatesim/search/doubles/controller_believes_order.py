"""A controller that takes the order for the motion."""

from __future__ import annotations

from gatesim.events import Direction
from gatesim.plant.logic.contract import ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class BelievesOrder(DoubledController):
    """Nothing is read back, and what is ordered is taken to be done."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        done = state.done
        return seen._replace(
            opening_contactor=done.order is Direction.OPENING,
            motion=done.order,
            closing_contactor=done.order is Direction.CLOSING,
            main_closed=done.main,
        )


DOUBLE = Double(
    "controller-believes-order",
    Role.CONTROLLER,
    "M3",
    bug="What is ordered is taken to be done.",
    differs="Takes its order for the motion, the contactors and the main shut-off.",
    make=BelievesOrder,
    shown_by="travel-sensor-frozen",
)
