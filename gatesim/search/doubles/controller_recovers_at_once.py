"""A controller for which the first good frame is enough."""

from __future__ import annotations

from gatesim.plant.logic.contract import ControllerDo, ControllerSettings
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class RecoversAtOnce(DoubledController):
    """No recovery time."""

    def start(self, settings: ControllerSettings, kept: bytes | None) -> tuple[Doubled, ControllerDo]:
        return super().start(settings._replace(recovery_time=0), kept)


DOUBLE = Double(
    "controller-recovers-at-once",
    Role.CONTROLLER,
    "X11",
    bug="The first good frame after a loss clears it.",
    differs="Asks for no time in which a device has been in order.",
    make=RecoversAtOnce,
    shown_by="link-just-back",
)
