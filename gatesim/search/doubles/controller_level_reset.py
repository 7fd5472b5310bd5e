"""A controller whose reset is a level."""

from __future__ import annotations

from gatesim.events import Command, Origin
from gatesim.plant.logic.contract import ControllerDo, ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class LevelReset(DoubledController):
    """A reset that is held resets, again and again."""

    def step(self, state: Doubled, seen: ControllerSeen, now: float) -> tuple[Doubled, ControllerDo]:
        reset = (Command.RESET, Origin.WIRED)
        if reset in seen.controls:
            state, _ = super().step(state, seen, now)
        return super().step(state, seen._replace(controls=seen.controls - {reset}), now)


DOUBLE = Double(
    "controller-level-reset",
    Role.CONTROLLER,
    "L4",
    bug="A reset that is held down resets again and again.",
    differs="Takes each call with the reset held for a press and a release.",
    make=LevelReset,
    shown_by="reset-rules",
)
