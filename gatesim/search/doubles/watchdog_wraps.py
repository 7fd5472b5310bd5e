"""A watchdog whose ticks roll over."""

from __future__ import annotations

from gatesim.plant.logic.contract import ReceiverDo, ReceiverSeen
from gatesim.plant.logic.receiver_reference import ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role
from gatesim.units import FOREVER

WRAP = 65_536_000
"""2^16 ms."""


class Wraps(DoubledReceiver):
    """A deadline past the roll-over lies beyond every tick there is."""

    def step(self, state: ReceiverMemory, seen: ReceiverSeen, now: float) -> tuple[ReceiverMemory, ReceiverDo]:
        state, _ = super().step(state, seen, now)
        for device in state.devices:
            if device.fresh and device.expiry < FOREVER and device.expiry // WRAP > device.last_good // WRAP:
                device.expiry = FOREVER
        return state, self.out(state)


DOUBLE = Double(
    "watchdog-wraps",
    Role.RECEIVER,
    "T1",
    bug="A deadline beyond the roll-over of the tick counter is compared as a plain number and never comes.",
    differs="Compares ticks of a millisecond modulo 2^16, so that a deadline beyond 65.536 s never comes.",
    make=Wraps,
    shown_by="link-lost-at-the-roll-over",
)
