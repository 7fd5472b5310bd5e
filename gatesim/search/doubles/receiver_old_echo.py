"""A receiver for which an old answer is an answer."""

from __future__ import annotations

from gatesim.plant.logic.contract import ReceiverDo, ReceiverSeen
from gatesim.plant.logic.receiver_reference import ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role


class OldEcho(DoubledReceiver):
    """No echo is barred."""

    def step(self, state: ReceiverMemory, seen: ReceiverSeen, now: float) -> tuple[ReceiverMemory, ReceiverDo]:
        state, _ = super().step(state, seen, now)
        for device in state.devices:
            device.barred = False
            if device.fresh and state.ask > 0 and device.echo == state.ask:
                device.answered = state.ask
        return state, self.out(state)


DOUBLE = Double(
    "receiver-old-echo",
    Role.RECEIVER,
    "X8",
    bug="After a restart the numbers begin again, and what was said before is accepted.",
    differs="Takes an echo of the test request for an answer although it was there before the request.",
    make=OldEcho,
    equivalent="Requests go out under numbers of their own after each power-up of the receiver, "
    "so that no echo can be older than its request.",
)
