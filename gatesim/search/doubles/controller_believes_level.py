"""A controller that takes a control held at power return for a press."""

from __future__ import annotations

from gatesim.plant.logic.contract import ControllerDo, ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class BelievesLevel(DoubledController):
    """Nothing has to be released first."""

    def step(self, state: Doubled, seen: ControllerSeen, now: float) -> tuple[Doubled, ControllerDo]:
        if not state.note:
            state.note = (True,)
            state, _ = super().step(state, seen._replace(controls=frozenset()), now)
        return super().step(state, seen, now)


DOUBLE = Double(
    "controller-believes-level",
    Role.CONTROLLER,
    "L14",
    bug="A button that is held when power returns counts as pressed just now.",
    differs="Does not ask that what is held at power-up be released first.",
    make=BelievesLevel,
    shown_by="button-stuck-through-a-dip",
)
