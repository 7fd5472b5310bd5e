"""A controller whose time limit slides."""

from __future__ import annotations

from gatesim.plant.logic.contract import ControllerDo, ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role
from gatesim.units import FOREVER


class SlidingLimit(DoubledController):
    """The limit is measured from the last thing that happened."""

    def step(self, state: Doubled, seen: ControllerSeen, now: float) -> tuple[Doubled, ControllerDo]:
        memory = state.memory
        if memory.stop_until < FOREVER and seen.motion is not None:
            memory.stop_until = now + memory.settings.stop_limit
        return super().step(state, seen, now)


DOUBLE = Double(
    "controller-sliding-limit",
    Role.CONTROLLER,
    "L13",
    bug="A second fault starts the time limit of the reaction anew.",
    differs="Starts the time limit of a stop again with every call while the leaf still moves.",
    make=SlidingLimit,
    shown_by="brake-worn",
)
