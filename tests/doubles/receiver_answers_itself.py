"""A receiver that answers the test for its transmitters."""

from __future__ import annotations

from doubled import DoubledReceiver

from gatesim.plant.logic.contract import ReceiverDo, ReceiverSeen
from gatesim.plant.logic.receiver_reference import ReceiverMemory


class AnswersItself(DoubledReceiver):
    """A frame within the watchdog is taken for an answer."""

    def step(self, state: ReceiverMemory, seen: ReceiverSeen, now: float) -> tuple[ReceiverMemory, ReceiverDo]:
        state, _ = super().step(state, seen, now)
        for device in state.devices:
            if device.fresh:
                device.answered = seen.ask
        return state, self.out(state)
