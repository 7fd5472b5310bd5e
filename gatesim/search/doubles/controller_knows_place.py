"""A controller that always knows where the leaf is."""

from __future__ import annotations

from gatesim.plant.logic.contract import ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class KnowsPlace(DoubledController):
    """There is no \"unknown\"."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        return seen._replace(position_known=True)


DOUBLE = Double(
    "controller-knows-place",
    Role.CONTROLLER,
    "P5",
    bug="After a power cycle the leaf is taken to be where it was last.",
    differs="Takes the position for known at power-up.",
    make=KnowsPlace,
    shown_by="power-back-in-mid-travel",
)
