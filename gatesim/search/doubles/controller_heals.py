"""A controller whose lockouts clear themselves."""

from __future__ import annotations

from gatesim.plant.logic.contract import ControllerDo, ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class Heals(DoubledController):
    """What is gone was never there."""

    def step(self, state: Doubled, seen: ControllerSeen, now: float) -> tuple[Doubled, ControllerDo]:
        state, do = super().step(state, seen, now)
        memory = state.memory
        if memory.latched and not memory.found and not memory.entrapment and not memory.drive_fault:
            memory.latched, memory.lock_opening, memory.lock_closing = (), False, False
            state, do = super().step(state, seen, now)
        return state, do


DOUBLE = Double(
    "controller-heals",
    Role.CONTROLLER,
    "L7",
    bug="A fault that heals for a moment takes its lockout along.",
    differs="Takes its lockouts of one direction back as soon as nothing is found wrong.",
    make=Heals,
    shown_by="reset-rules",
)
