"""A controller that takes defaults when its store cannot be read."""

from __future__ import annotations

from gatesim.events import Lockout
from gatesim.plant.logic.contract import ControllerDo, ControllerSettings
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class CleanSlate(DoubledController):
    """What can't be read is taken for nothing to know."""

    def start(self, settings: ControllerSettings, kept: bytes | None) -> tuple[Doubled, ControllerDo]:
        state, do = super().start(settings, kept)
        return super().start(settings, None) if do.lockout is Lockout.DRIVE else (state, do)


DOUBLE = Double(
    "controller-clean-slate",
    Role.CONTROLLER,
    "P8",
    bug="What cannot be read from the store is replaced by defaults.",
    differs="Starts without any lockout when the check sum of its store is wrong.",
    make=CleanSlate,
    shown_by="store-corrupted",
)
