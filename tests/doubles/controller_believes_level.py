"""A controller that takes a control held at power return for a press."""

from __future__ import annotations

from doubled import Doubled, DoubledController

from gatesim.plant.logic.contract import ControllerDo, ControllerSeen


class BelievesLevel(DoubledController):
    """Nothing has to be released first."""

    def step(self, state: Doubled, seen: ControllerSeen, now: float) -> tuple[Doubled, ControllerDo]:
        if not state.note:
            state.note = (True,)
            state, _ = super().step(state, seen._replace(controls=frozenset()), now)
        return super().step(state, seen, now)
