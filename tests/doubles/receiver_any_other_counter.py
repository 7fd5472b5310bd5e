"""A receiver that takes any other counter for a newer one."""

from __future__ import annotations

from doubled import DoubledReceiver

from gatesim.plant.logic.contract import Frame
from gatesim.plant.logic.receiver_reference import DeviceMemory, ReceiverMemory


class AnyOtherCounter(DoubledReceiver):
    """Compares by "not equal"."""

    def odd(self, state: ReceiverMemory, device: DeviceMemory, frame: Frame, moving: bool, now: float) -> Frame | None:
        if frame.session == device.session and frame.counter != device.counter:
            device.counter, device.samples = (frame.counter - 1) % 256, frame.samples - 1
        return frame
