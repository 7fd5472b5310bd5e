"""A controller that serves what came first."""

from __future__ import annotations

from gatesim.plant.logic.contract import ControllerDo, ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role
from gatesim.units import FOREVER

LATER = 1_000_000
"""How long the rest waits (us)."""


class CommandFirst(DoubledController):
    """With a command new in the picture, the devices are as they were."""

    def step(self, state: Doubled, seen: ControllerSeen, now: float) -> tuple[Doubled, ControllerDo]:
        new = seen.controls - (state.memory.held or frozenset())
        last = state.memory.last
        if new and last is not None:
            state.note = (now + LATER, last.reports, last.force)
        elif state.note and now >= state.note[0]:
            state.note = ()
        if not state.note:
            return super().step(state, seen, now)
        state, do = super().step(state, seen._replace(reports=state.note[1], force=state.note[2]), now)
        return state, do._replace(wake=min(do.wake or FOREVER, state.note[0]))


DOUBLE = Double(
    "controller-command-first",
    Role.CONTROLLER,
    "T8",
    bug="Of two things in one tick the one that was put in first is served, and the other waits.",
    differs="Serves a new command and leaves everything else of that call for a second later.",
    make=CommandFirst,
    shown_by="short-closing",
)
