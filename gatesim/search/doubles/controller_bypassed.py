"""A controller whose bypass of commissioning stays on."""

from __future__ import annotations

from gatesim.events import Level
from gatesim.plant.logic.contract import ControllerSeen
from gatesim.plant.logic.controller_table import Mode
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role, each_report


class Bypassed(DoubledController):
    """Pairing sets the bypass, and nothing takes it back."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        if state.memory.mode is Mode.PAIRING:
            state.note = (True,)
        return each_report(seen, lambda one: one._replace(level=Level.REST)) if state.note else seen


DOUBLE = Double(
    "controller-bypassed",
    Role.CONTROLLER,
    "L10",
    bug="The bypass that somebody set for commissioning never ends.",
    differs="Ignores its edges for ever after pairing was opened once.",
    make=Bypassed,
    shown_by="bypass-of-pairing",
)
