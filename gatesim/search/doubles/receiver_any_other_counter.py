"""A receiver that takes any other counter for a newer one."""

from __future__ import annotations

from gatesim.plant.logic.contract import Frame
from gatesim.plant.logic.receiver_reference import DeviceMemory, ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role


class AnyOtherCounter(DoubledReceiver):
    """Compares by "not equal"."""

    def odd(self, state: ReceiverMemory, device: DeviceMemory, frame: Frame, moving: bool, now: float) -> Frame | None:
        if frame.session == device.session and frame.counter != device.counter:
            device.counter, device.samples = (frame.counter - 1) % 256, frame.samples - 1
        return frame


DOUBLE = Double(
    "receiver-any-other-counter",
    Role.RECEIVER,
    "C3",
    bug='A counter is compared by "not equal" instead of "newer".',
    differs="Accepts any counter that differs from the last one.",
    make=AnyOtherCounter,
    shown_by="sampler-dead",
)
