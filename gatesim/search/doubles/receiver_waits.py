"""A receiver that counts misses when the next frame arrives."""

from __future__ import annotations

from gatesim.plant.logic.contract import ReceiverDo, ReceiverSeen
from gatesim.plant.logic.receiver_reference import ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role
from gatesim.units import FOREVER


class Waits(DoubledReceiver):
    """Silence alone never expires."""

    def step(self, state: ReceiverMemory, seen: ReceiverSeen, now: float) -> tuple[ReceiverMemory, ReceiverDo]:
        state, _ = super().step(state, seen, now)
        for device in state.devices:
            device.expiry = FOREVER
        return state, self.out(state)._replace(wake=None)


DOUBLE = Double(
    "receiver-waits",
    Role.RECEIVER,
    "C4",
    bug="Missing frames are counted when the next one arrives.",
    differs="Never lets silence alone expire.",
    make=Waits,
    shown_by="lost-link-closing",
)
