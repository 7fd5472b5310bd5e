"""A controller that takes the stop order for the stop."""

from __future__ import annotations

from gatesim.plant.logic.contract import ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class BelievesStop(DoubledController):
    """Without an order the leaf is taken to stand."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        return seen if state.done.order is not None else seen._replace(motion=None)


DOUBLE = Double(
    "controller-believes-stop",
    Role.CONTROLLER,
    "M2",
    bug="The order to stop is taken for the stop.",
    differs="Takes the leaf to stand whenever nothing is ordered.",
    make=BelievesStop,
    shown_by="brake-worn",
)
