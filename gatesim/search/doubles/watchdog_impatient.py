"""A watchdog that is shorter than a check-in."""

from __future__ import annotations

from gatesim.plant.logic.contract import ReceiverDo, ReceiverSettings
from gatesim.plant.logic.receiver_reference import ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role


class Impatient(DoubledReceiver):
    """A watchdog a quarter as long."""

    def start(self, settings: ReceiverSettings, kept: bytes | None) -> tuple[ReceiverMemory, ReceiverDo]:
        return super().start(settings._replace(watchdog_in_motion=settings.watchdog_in_motion // 4), kept)


DOUBLE = Double(
    "watchdog-impatient",
    Role.RECEIVER,
    "X10",
    bug="False stops are taken for the safe side, and people bypass what stops for nothing.",
    differs="Allows a quarter of the silence that it is set to.",
    make=Impatient,
    shown_by="healthy-both-ways",
)
