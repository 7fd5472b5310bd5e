"""A receiver whose filter looks at kind and length only."""

from __future__ import annotations

from gatesim.plant.logic.contract import Frame, ReceiverDo, ReceiverSeen
from gatesim.plant.logic.receiver_reference import ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role, after


class AnyIdentity(DoubledReceiver):
    """A frame with the right number of levels is welcome, whoever sent it."""

    def step(self, state: ReceiverMemory, seen: ReceiverSeen, now: float) -> tuple[ReceiverMemory, ReceiverDo]:
        frames = tuple([self._welcome(state, frame) for frame in seen.frames])
        return super().step(state, seen._replace(frames=frames), now)

    def _welcome(self, state: ReceiverMemory, frame: Frame) -> Frame:
        for pair, device in zip(state.settings.paired, state.devices, strict=True):
            if self.device(state, frame) is None and len(pair.edges) == len(frame.levels) and device.heard:
                return after(device, frame)._replace(sender=pair.identity)
        return frame


DOUBLE = Double(
    "receiver-any-identity",
    Role.RECEIVER,
    "C8",
    bug="A neighbour's frame of the right shape is accepted.",
    differs="Takes a frame with the right number of levels for one of its own.",
    make=AnyIdentity,
    shown_by="transmitter-unpaired",
)
