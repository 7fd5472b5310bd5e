"""A receiver for which the last writer wins."""

from __future__ import annotations

from doubled import DoubledReceiver, after

from gatesim.plant.logic.contract import Frame
from gatesim.plant.logic.receiver_reference import DeviceMemory, ReceiverMemory


class LastWriter(DoubledReceiver):
    """Any jump of session or counter is accepted."""

    def odd(self, state: ReceiverMemory, device: DeviceMemory, frame: Frame, moving: bool, now: float) -> Frame | None:
        return after(device, frame) if frame.session != device.session and device.heard else frame
