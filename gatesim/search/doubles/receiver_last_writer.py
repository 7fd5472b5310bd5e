"""A receiver for which the last writer wins."""

from __future__ import annotations

from gatesim.plant.logic.contract import Frame
from gatesim.plant.logic.receiver_reference import DeviceMemory, ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role, after


class LastWriter(DoubledReceiver):
    """Any jump of session or counter is accepted."""

    def odd(self, state: ReceiverMemory, device: DeviceMemory, frame: Frame, moving: bool, now: float) -> Frame | None:
        return after(device, frame) if frame.session != device.session and device.heard else frame


DOUBLE = Double(
    "receiver-last-writer",
    Role.RECEIVER,
    "C17",
    bug="Of two senders with one identity the last one wins.",
    differs="Takes a frame of another session for the next one of its own.",
    make=LastWriter,
    shown_by="identity-doubled",
)
