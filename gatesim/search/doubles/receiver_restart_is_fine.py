"""A receiver that accepts a restarted sender at once."""

from __future__ import annotations

from gatesim.plant.logic.contract import Frame
from gatesim.plant.logic.receiver_reference import DeviceMemory, ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role


class RestartIsFine(DoubledReceiver):
    """A new session is as good as the old one."""

    def odd(self, state: ReceiverMemory, device: DeviceMemory, frame: Frame, moving: bool, now: float) -> Frame | None:
        if device.heard and frame.sound and frame.session != device.session:
            device.session, device.counter, device.samples = frame.session, (frame.counter - 1) % 256, frame.samples - 1
        return frame


DOUBLE = Double(
    "receiver-restart-is-fine",
    Role.RECEIVER,
    "C10",
    bug="Any backward jump is taken for a restart, and accepted.",
    differs="Takes the first frame of a new session for fresh.",
    make=RestartIsFine,
    shown_by="transmitter-restarts",
)
