"""A controller whose reset clears everything."""

from __future__ import annotations

from gatesim.plant.logic.contract import ControllerDo, ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class ClearsAll(DoubledController):
    """What cannot be seen in order just now is forgotten too."""

    def step(self, state: Doubled, seen: ControllerSeen, now: float) -> tuple[Doubled, ControllerDo]:
        before = len(state.memory.latched)
        state, do = super().step(state, seen, now)
        memory = state.memory
        if 0 < len(memory.latched) < before:
            memory.latched, memory.lock_opening, memory.lock_closing = (), False, False
            state, do = super().step(state, seen, now)
        return state, do


DOUBLE = Double(
    "controller-clears-all",
    Role.CONTROLLER,
    "X5",
    bug="A reset clears what has healed and what has not.",
    differs="Drops all that is latched at a reset.",
    make=ClearsAll,
    shown_by="reset-of-one-of-two",
)
