"""A controller that keeps a flag of motion through a dip."""

from __future__ import annotations

from gatesim.events import Direction
from gatesim.plant.logic.contract import ControllerDo, ControllerSeen, ControllerSettings
from gatesim.plant.logic.controller_table import Mode
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role

TURNING = (Mode.STOPPING_TO_REVERSE, Mode.DWELL)


class Resumes(DoubledController):
    """Goes on with what it was about: the store holds it behind its other contents."""

    def start(self, settings: ControllerSettings, kept: bytes | None) -> tuple[Doubled, ControllerDo]:
        own, _, order = (kept or b"").rpartition(b"|")
        state, do = super().start(settings, own or None)
        state.note = tuple(one for one in Direction if one.value.encode() == order)
        return state, do

    def step(self, state: Doubled, seen: ControllerSeen, now: float) -> tuple[Doubled, ControllerDo]:
        state, do = super().step(state, seen, now)
        if state.note:
            do = do._replace(order=state.note[0], main=True)
        way = do.order
        if state.memory.mode in TURNING and state.memory.direction is not None:
            way = state.memory.direction.other
        return state, do._replace(keep=do.keep + b"|" + (way.value.encode() if way else b""))


DOUBLE = Double(
    "controller-resumes",
    Role.CONTROLLER,
    "P4",
    bug="A flag of motion survives a short dip, and the motion goes on.",
    differs="Goes on with the order that it had, or was about to give, when the supply went.",
    make=Resumes,
    shown_by="power-back-in-mid-travel",
)
