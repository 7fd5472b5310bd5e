"""A controller whose lockout lies in memory only."""

from __future__ import annotations

from gatesim.plant.logic.contract import ControllerDo, ControllerSettings
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class ForgetsLockout(DoubledController):
    """Nothing is kept."""

    def start(self, settings: ControllerSettings, kept: bytes | None) -> tuple[Doubled, ControllerDo]:
        return super().start(settings, None)


DOUBLE = Double(
    "controller-forgets-lockout",
    Role.CONTROLLER,
    "P6",
    bug="The lockout lies in memory that is empty after a power cycle, so switching off and on is a reset.",
    differs="Does not look into its store at power-up.",
    make=ForgetsLockout,
    shown_by="alarm-and-power",
)
