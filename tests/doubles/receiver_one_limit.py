"""A receiver that keeps its long limit of rest in motion."""

from __future__ import annotations

from doubled import DoubledReceiver

from gatesim.plant.logic.contract import ReceiverDo, ReceiverSettings
from gatesim.plant.logic.receiver_reference import ReceiverMemory


class OneLimit(DoubledReceiver):
    """Has one watchdog limit."""

    def start(self, settings: ReceiverSettings, kept: bytes | None) -> tuple[ReceiverMemory, ReceiverDo]:
        return super().start(settings._replace(watchdog_in_motion=settings.watchdog_at_rest), kept)
