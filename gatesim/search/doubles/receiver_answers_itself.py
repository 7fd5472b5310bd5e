"""A receiver that answers the test for its transmitters."""

from __future__ import annotations

from gatesim.plant.logic.contract import ReceiverDo, ReceiverSeen
from gatesim.plant.logic.receiver_reference import ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role


class AnswersItself(DoubledReceiver):
    """A frame within the watchdog is taken for an answer."""

    def step(self, state: ReceiverMemory, seen: ReceiverSeen, now: float) -> tuple[ReceiverMemory, ReceiverDo]:
        state, _ = super().step(state, seen, now)
        for device in state.devices:
            if device.fresh:
                device.answered = seen.ask
        return state, self.out(state)


DOUBLE = Double(
    "receiver-answers-itself",
    Role.RECEIVER,
    "C5",
    bug="That frames come in time is taken for proof that they are young.",
    differs="Answers the test before a move for every transmitter within its watchdog.",
    make=AnswersItself,
    shown_by="lost-link-closing",
)
