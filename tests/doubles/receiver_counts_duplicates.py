"""A receiver for which a duplicate is a heartbeat."""

from __future__ import annotations

from doubled import DoubledReceiver

from gatesim.plant.logic.contract import Frame
from gatesim.plant.logic.receiver_reference import DeviceMemory, ReceiverMemory


class CountsDuplicates(DoubledReceiver):
    """The same counter again keeps the watchdog quiet."""

    def odd(self, state: ReceiverMemory, device: DeviceMemory, frame: Frame, moving: bool, now: float) -> Frame | None:
        if frame.session == device.session and frame.counter == device.counter:
            self.rearm(state, device, moving, now)
        return frame
