"""A receiver that presumes what it does not hear."""

from __future__ import annotations

from gatesim.plant.logic.contract import ReceiverDo, ReceiverSettings
from gatesim.plant.logic.receiver_reference import ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role


class Presumes(DoubledReceiver):
    """A watchdog four times as long."""

    def start(self, settings: ReceiverSettings, kept: bytes | None) -> tuple[ReceiverMemory, ReceiverDo]:
        return super().start(settings._replace(watchdog_in_motion=4 * settings.watchdog_in_motion), kept)


DOUBLE = Double(
    "receiver-presumes",
    Role.RECEIVER,
    "C12",
    bug="Losses are taken for independent, so silence of a few seconds is taken for impossible.",
    differs="Allows four times as much silence in motion as it is set to.",
    make=Presumes,
    shown_by="lost-link-closing",
)
