"""A controller that takes the stop order for the stop."""

from __future__ import annotations

from doubled import Doubled, DoubledController

from gatesim.plant.logic.contract import ControllerSeen


class BelievesStop(DoubledController):
    """Without an order the leaf is taken to stand."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        return seen if state.done.order is not None else seen._replace(motion=None)
