"""A controller that keeps a flag of motion through a dip."""

from __future__ import annotations

from doubled import Doubled, DoubledController

from gatesim.events import Direction
from gatesim.plant.logic.contract import ControllerDo, ControllerSeen, ControllerSettings


class Resumes(DoubledController):
    """Goes on with the order that it had."""

    order: Direction | None = None

    def start(self, settings: ControllerSettings, kept: bytes | None) -> tuple[Doubled, ControllerDo]:
        state, do = super().start(settings, kept)
        state.note = (self.order,)
        return state, do

    def step(self, state: Doubled, seen: ControllerSeen, now: float) -> tuple[Doubled, ControllerDo]:
        state, do = super().step(state, seen, now)
        if state.note[0] is not None:
            return state, do._replace(order=state.note[0], main=True)
        self.order = do.order
        return state, do
