"""A controller for which the force sensing is part of the drive."""

from __future__ import annotations

from gatesim.plant.logic.contract import ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class UntestedForce(DoubledController):
    """Does not look at the self-test."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        return seen._replace(force_ready=True)


DOUBLE = Double(
    "controller-untested-force",
    Role.CONTROLLER,
    "X7",
    bug="The force sensing is taken for part of the drive and never tested.",
    differs="Takes the force sensing for ready, whatever its self-test says.",
    make=UntestedForce,
    shown_by="force-sensing-dead",
)
