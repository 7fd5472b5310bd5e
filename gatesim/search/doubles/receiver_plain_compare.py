"""A receiver that compares counters as plain numbers."""

from __future__ import annotations

from gatesim.plant.logic.contract import Frame
from gatesim.plant.logic.receiver_reference import DeviceMemory, ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role


class PlainCompare(DoubledReceiver):
    """Less is older."""

    def odd(self, state: ReceiverMemory, device: DeviceMemory, frame: Frame, moving: bool, now: float) -> Frame | None:
        old = device.heard and frame.session == device.session and frame.counter < device.counter
        return None if old else frame


DOUBLE = Double(
    "receiver-plain-compare",
    Role.RECEIVER,
    "C9",
    bug="Counters are compared as plain numbers, so everything after the wrap is old.",
    differs="Discards a frame whose counter is less than the last one.",
    make=PlainCompare,
    shown_by="healthy-both-ways",
)
