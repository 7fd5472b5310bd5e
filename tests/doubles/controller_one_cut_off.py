"""A controller both of whose cut-off paths hang on one output."""

from __future__ import annotations

from doubled import Doubled, DoubledController

from gatesim.events import Direction
from gatesim.plant.logic.contract import ControllerDo, ControllerSeen


class OneCutOff(DoubledController):
    """Nothing is read back, and the main shut-off never opens."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        done = state.done
        return seen._replace(
            opening_contactor=done.order is Direction.OPENING,
            closing_contactor=done.order is Direction.CLOSING,
            main_closed=done.main,
        )

    def step(self, state: Doubled, seen: ControllerSeen, now: float) -> tuple[Doubled, ControllerDo]:
        state, do = super().step(state, seen, now)
        return state, do._replace(main=True)
