"""A watchdog on a clock at half its speed."""

from __future__ import annotations

from gatesim.plant.logic.contract import ReceiverDo, ReceiverSettings
from gatesim.plant.logic.receiver_reference import ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role


class HalfSpeed(DoubledReceiver):
    """Every second takes two."""

    def start(self, settings: ReceiverSettings, kept: bytes | None) -> tuple[ReceiverMemory, ReceiverDo]:
        slow = settings._replace(watchdog_in_motion=2 * settings.watchdog_in_motion,
                                 watchdog_at_rest=2 * settings.watchdog_at_rest)
        return super().start(slow, kept)


DOUBLE = Double(
    "watchdog-half-speed",
    Role.RECEIVER,
    "T4",
    bug="A clock that runs at half its speed doubles every time, and nothing compares it with another.",
    differs="Has watchdogs twice as long as they are set to.",
    make=HalfSpeed,
    shown_by="lost-link-closing",
)
