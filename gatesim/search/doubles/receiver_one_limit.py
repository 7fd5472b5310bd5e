"""A receiver that keeps its long limit of rest in motion."""

from __future__ import annotations

from gatesim.plant.logic.contract import ReceiverDo, ReceiverSettings
from gatesim.plant.logic.receiver_reference import ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role


class OneLimit(DoubledReceiver):
    """Has one watchdog limit."""

    def start(self, settings: ReceiverSettings, kept: bytes | None) -> tuple[ReceiverMemory, ReceiverDo]:
        return super().start(settings._replace(watchdog_in_motion=settings.watchdog_at_rest), kept)


DOUBLE = Double(
    "receiver-one-limit",
    Role.RECEIVER,
    "T2",
    bug="There is one limit of silence, wide enough for sleep, in motion too.",
    differs="Keeps its limit of rest while the gate moves.",
    make=OneLimit,
    shown_by="lost-link-closing",
)
