"""A controller that hears nothing while it reverses."""

from __future__ import annotations

from gatesim.events import Level
from gatesim.plant.logic.contract import ControllerSeen
from gatesim.plant.logic.controller_table import Mode
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role, each_report


class DeafReversing(DoubledController):
    """Going back is always right."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        if state.memory.mode is not Mode.REVERSING:
            return seen
        return each_report(seen, lambda one: one._replace(level=Level.REST))._replace(force=False)


DOUBLE = Double(
    "controller-deaf-reversing",
    Role.CONTROLLER,
    "L1",
    bug="Inputs are ignored while the gate goes back.",
    differs="Takes every edge for at rest and ignores the force sensing while it reverses.",
    make=DeafReversing,
    shown_by="second-demand",
)
