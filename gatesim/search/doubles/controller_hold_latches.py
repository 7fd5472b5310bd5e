"""A controller that measures a hold in steps."""

from __future__ import annotations

from gatesim.events import Command
from gatesim.plant.logic.contract import ControllerDo, ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role
from gatesim.units import FOREVER

HOLDS = (Command.HOLD_OPEN, Command.HOLD_CLOSE)


LATE = 2_000_000
"""A step of the clock (us)."""


class HoldLatches(DoubledController):
    """What was held is held until the next step of the clock."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        held = frozenset(one for one in seen.controls if one[0] in HOLDS)
        if held:
            state.note = (FOREVER, held)
        elif state.note:
            until = min(state.note[0], now + LATE)
            state.note = (until, state.note[1]) if now < until else ()
        return seen._replace(controls=seen.controls | state.note[1]) if state.note else seen

    def step(self, state: Doubled, seen: ControllerSeen, now: float) -> tuple[Doubled, ControllerDo]:
        state, do = super().step(state, seen, now)
        if state.note and state.note[0] < FOREVER:
            do = do._replace(wake=min(do.wake or FOREVER, state.note[0]))
        return state, do


DOUBLE = Double(
    "controller-hold-latches",
    Role.CONTROLLER,
    "T7",
    bug="Time is added up in steps, and the last one comes too late.",
    differs="Sees 2 s late that a hold-to-run control was let go.",
    make=HoldLatches,
    shown_by="hold-to-run",
)
