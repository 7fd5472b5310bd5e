"""A controller for which the force sensing is part of the drive."""

from __future__ import annotations

from doubled import Doubled, DoubledController

from gatesim.plant.logic.contract import ControllerSeen


class UntestedForce(DoubledController):
    """Does not look at the self-test."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        return seen._replace(force_ready=True)
