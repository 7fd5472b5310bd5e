"""A watchdog on the clock that it watches."""

from __future__ import annotations

from gatesim.plant.logic.contract import ReceiverDo, ReceiverSeen
from gatesim.plant.logic.receiver_reference import ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role
from gatesim.units import FOREVER


class StoppedClock(DoubledReceiver):
    """Its wake stops with the sender."""

    def step(self, state: ReceiverMemory, seen: ReceiverSeen, now: float) -> tuple[ReceiverMemory, ReceiverDo]:
        for device in state.devices:
            if device.fresh and now - device.last_good > state.settings.watchdog_in_motion // 2:
                device.expiry = FOREVER
        state, do = super().step(state, seen, now)
        return state, do


DOUBLE = Double(
    "watchdog-stopped-clock",
    Role.RECEIVER,
    "T3",
    bug="The watchdog runs on the oscillator that it is to watch, and stops with it.",
    differs="Stops counting with the frames: what has been silent for half its limit never expires.",
    make=StoppedClock,
    shown_by="lost-link-closing",
)
