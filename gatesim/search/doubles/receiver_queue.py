"""A receiver that works through its queue one frame a call."""

from __future__ import annotations

from gatesim.plant.logic.contract import Frame, ReceiverDo, ReceiverSeen, ReceiverSettings
from gatesim.plant.logic.receiver_reference import ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role


class Queued(ReceiverMemory):
    """The reference's memory, with a queue."""

    queue: tuple[Frame, ...] = ()

    def copy(self) -> Queued:
        plain = super().copy()
        new = Queued(plain.settings, plain.devices, plain.moving, plain.ask, plain.strangers)
        new.queue = self.queue
        return new


class Queue(DoubledReceiver):
    """A queue of ten frames between the radio and the logic."""

    def start(self, settings: ReceiverSettings, kept: bytes | None) -> tuple[ReceiverMemory, ReceiverDo]:
        memory, do = super().start(settings, kept)
        return Queued(memory.settings, memory.devices), do

    def step(self, state: ReceiverMemory, seen: ReceiverSeen, now: float) -> tuple[ReceiverMemory, ReceiverDo]:
        assert isinstance(state, Queued)
        state.queue = (*state.queue, *seen.frames)
        due = state.queue[:max(0, len(state.queue) - 10)]
        state.queue = state.queue[len(due):]
        return super().step(state, seen._replace(frames=due), now)


DOUBLE = Double(
    "receiver-queue",
    Role.RECEIVER,
    "C20",
    bug="Frames wait in a queue, and each call takes one.",
    differs="Takes one frame a call, ten of them late.",
    make=Queue,
    shown_by="first-look",
)
