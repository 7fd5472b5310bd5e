"""A controller that reads nothing back."""

from __future__ import annotations

from doubled import Doubled, DoubledController

from gatesim.events import Direction
from gatesim.plant.logic.contract import ControllerSeen


class WithoutReadBack(DoubledController):
    """Takes the contacts to be as ordered."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        done = state.done
        return seen._replace(
            opening_contactor=done.order is Direction.OPENING,
            closing_contactor=done.order is Direction.CLOSING,
            main_closed=done.main,
        )
