"""A controller that does not look while it is idle."""

from __future__ import annotations

from gatesim.plant.logic.contract import ControllerSeen
from gatesim.plant.logic.controller_table import Mode
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class IdleBlind(DoubledController):
    """At rest nothing moves."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        return seen._replace(motion=None) if state.memory.mode is Mode.REST else seen


DOUBLE = Double(
    "controller-idle-blind",
    Role.CONTROLLER,
    "M6",
    bug="A leaf that stands is taken to stay where it is.",
    differs="Takes the leaf to stand while it waits for a command.",
    make=IdleBlind,
    shown_by="leaf-moved-by-hand",
)
