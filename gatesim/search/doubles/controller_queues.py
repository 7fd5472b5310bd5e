"""A controller that keeps commands for later."""

from __future__ import annotations

from gatesim.events import Command, Lockout
from gatesim.plant.logic.contract import ControllerDo, ControllerSeen
from gatesim.plant.logic.controller_table import Mode
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class Queues(DoubledController):
    """A refused start waits for its time."""

    def step(self, state: Doubled, seen: ControllerSeen, now: float) -> tuple[Doubled, ControllerDo]:
        state, do = super().step(state, seen, now)
        for command, origin, _, _ in do.refused:
            if do.lockout is not Lockout.NONE and command in (Command.OPEN, Command.CLOSE):
                state.note = (command, origin)
        if state.note and do.lockout is Lockout.NONE and state.memory.mode is Mode.REST:
            command, origin = state.note
            state.note = ()
            held = seen.controls
            state, _ = super().step(state, seen._replace(controls=held | {(command, origin)}), now)
            state, do = super().step(state, seen._replace(controls=held), now)
        return state, do


DOUBLE = Double(
    "controller-queues",
    Role.CONTROLLER,
    "L3",
    bug="A press during a lockout is kept, and obeyed when the lockout ends.",
    differs="Gives the last command that it refused in a lockout again after the reset.",
    make=Queues,
    shown_by="second-demand",
)
