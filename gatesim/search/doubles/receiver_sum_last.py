"""A receiver that re-arms its watchdog before it looks at the check sum."""

from __future__ import annotations

from gatesim.plant.logic.contract import Frame
from gatesim.plant.logic.receiver_reference import DeviceMemory, ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role


class SumLast(DoubledReceiver):
    """Any frame of the right identity keeps the watchdog quiet."""

    def odd(self, state: ReceiverMemory, device: DeviceMemory, frame: Frame, moving: bool, now: float) -> Frame | None:
        if not frame.sound:
            self.rearm(state, device, moving, now)
        return frame


DOUBLE = Double(
    "receiver-sum-last",
    Role.RECEIVER,
    "C1",
    bug="The watchdog is re-armed before the check sum is looked at.",
    differs="Re-arms the watchdog on a frame with a wrong sum.",
    make=SumLast,
    shown_by="frame-corrupted",
)
