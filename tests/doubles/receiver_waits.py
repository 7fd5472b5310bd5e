"""A receiver that counts misses when the next frame arrives."""

from __future__ import annotations

from doubled import DoubledReceiver

from gatesim.plant.logic.contract import ReceiverDo, ReceiverSeen
from gatesim.plant.logic.receiver_reference import ReceiverMemory
from gatesim.units import FOREVER


class Waits(DoubledReceiver):
    """Silence alone never expires."""

    def step(self, state: ReceiverMemory, seen: ReceiverSeen, now: float) -> tuple[ReceiverMemory, ReceiverDo]:
        state, _ = super().step(state, seen, now)
        for device in state.devices:
            device.expiry = FOREVER
        return state, self.out(state)._replace(wake=None)
