"""A controller that takes defaults when its store cannot be read."""

from __future__ import annotations

from doubled import Doubled, DoubledController

from gatesim.events import Lockout
from gatesim.plant.logic.contract import ControllerDo, ControllerSettings


class CleanSlate(DoubledController):
    """What can't be read is taken for nothing to know."""

    def start(self, settings: ControllerSettings, kept: bytes | None) -> tuple[Doubled, ControllerDo]:
        state, do = super().start(settings, kept)
        return super().start(settings, None) if do.lockout is Lockout.DRIVE else (state, do)
