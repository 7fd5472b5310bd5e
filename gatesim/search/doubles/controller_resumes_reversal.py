"""A controller that resumes a reversal."""

from __future__ import annotations

from gatesim.events import Direction
from gatesim.plant.logic.contract import ControllerDo, ControllerSeen, ControllerSettings
from gatesim.plant.logic.controller_table import Mode
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role

TURNING = (Mode.STOPPING_TO_REVERSE, Mode.DWELL, Mode.REVERSING)


class ResumesReversal(DoubledController):
    """The store says that a reversal was due."""

    def start(self, settings: ControllerSettings, kept: bytes | None) -> tuple[Doubled, ControllerDo]:
        own, _, way = (kept or b"").rpartition(b"|")
        state, do = super().start(settings, own or None)
        state.note = tuple(one for one in Direction if one.value.encode() == way)
        return state, do

    def step(self, state: Doubled, seen: ControllerSeen, now: float) -> tuple[Doubled, ControllerDo]:
        state, do = super().step(state, seen, now)
        if state.note:
            do = do._replace(order=state.note[0], main=True)
        memory, way = state.memory, b""
        if memory.direction is not None and memory.mode in TURNING:
            way = (memory.direction if memory.ordering else memory.direction.other).value.encode()
        return state, do._replace(keep=do.keep + b"|" + way)


DOUBLE = Double(
    "controller-resumes-reversal",
    Role.CONTROLLER,
    "P12",
    bug="After a dip in mid-reversal the reversal is taken up again by itself.",
    differs="Orders the way back when the supply returns, if it went while turning back.",
    make=ResumesReversal,
    shown_by="supply-lost-in-reversal",
)
