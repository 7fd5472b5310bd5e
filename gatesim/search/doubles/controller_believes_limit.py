"""A controller that believes its limit switches."""

from __future__ import annotations

from gatesim.plant.logic.contract import ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class BelievesLimit(DoubledController):
    """A closed switch is the place."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        if seen.at_closed and seen.at_open:
            return seen._replace(position=0.0, at_open=False)
        if seen.at_closed:
            return seen._replace(position=0.0)
        return seen._replace(position=state.memory.settings.travel) if seen.at_open else seen


DOUBLE = Double(
    "controller-believes-limit",
    Role.CONTROLLER,
    "M4",
    bug="A limit switch is believed against the measured position.",
    differs="Takes a closed limit switch for the position.",
    make=BelievesLimit,
    shown_by="limit-switch-stuck-closed",
)
