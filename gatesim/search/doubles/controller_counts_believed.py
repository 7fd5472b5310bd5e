"""A controller that believes the counts of its drive."""

from __future__ import annotations

from gatesim.plant.logic.contract import ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class CountsBelieved(DoubledController):
    """What turns moves."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        order = state.done.order
        return seen._replace(motion=order) if order is not None else seen


DOUBLE = Double(
    "controller-counts-believed",
    Role.CONTROLLER,
    "M9",
    bug="The motor turns and the counts run, so the leaf is taken to move.",
    differs="Takes its order for the motion.",
    make=CountsBelieved,
    shown_by="travel-sensor-frozen",
)
