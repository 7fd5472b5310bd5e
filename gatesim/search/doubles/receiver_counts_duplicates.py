"""A receiver for which a duplicate is a heartbeat."""

from __future__ import annotations

from gatesim.plant.logic.contract import Frame
from gatesim.plant.logic.receiver_reference import DeviceMemory, ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role


class CountsDuplicates(DoubledReceiver):
    """The same counter again keeps the watchdog quiet."""

    def odd(self, state: ReceiverMemory, device: DeviceMemory, frame: Frame, moving: bool, now: float) -> Frame | None:
        if frame.session == device.session and frame.counter == device.counter:
            self.rearm(state, device, moving, now)
        return frame


DOUBLE = Double(
    "receiver-counts-duplicates",
    Role.RECEIVER,
    "C2",
    bug="The same frame again keeps the watchdog quiet.",
    differs="Re-arms the watchdog on a frame with the last counter.",
    make=CountsDuplicates,
    shown_by="frames-repeated",
)
