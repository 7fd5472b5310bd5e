"""A controller both of whose cut-off paths hang on one output."""

from __future__ import annotations

from gatesim.events import Direction
from gatesim.plant.logic.contract import ControllerDo, ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


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


DOUBLE = Double(
    "controller-one-cut-off",
    Role.CONTROLLER,
    "M1",
    bug="Both ways of cutting the drive hang on one output, and nothing is read back.",
    differs="Never opens the main shut-off, and takes contactors for as ordered.",
    make=OneCutOff,
    shown_by="contactor-welded",
)
