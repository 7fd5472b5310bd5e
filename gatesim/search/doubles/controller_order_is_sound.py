"""A controller for which the order is the sound."""

from __future__ import annotations

from gatesim.plant.logic.contract import ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class OrderIsSound(DoubledController):
    """The sounder's read-back is what was ordered."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        return seen._replace(sounder=state.done.alarm)


DOUBLE = Double(
    "controller-order-is-sound",
    Role.CONTROLLER,
    "L15",
    bug="The alarm is ordered, and so it is taken to sound.",
    differs="Does not look whether the sounder sounds.",
    make=OrderIsSound,
    shown_by="alarm-without-a-sound",
)
