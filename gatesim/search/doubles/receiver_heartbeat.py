"""A receiver for which a check-in is enough."""

from __future__ import annotations

from gatesim.plant.logic.contract import Frame
from gatesim.plant.logic.receiver_reference import DeviceMemory, ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role


class Heartbeat(DoubledReceiver):
    """Does not look at the count of scans."""

    def odd(self, state: ReceiverMemory, device: DeviceMemory, frame: Frame, moving: bool, now: float) -> Frame | None:
        return frame._replace(samples=device.samples + 1)


DOUBLE = Double(
    "receiver-heartbeat",
    Role.RECEIVER,
    "C16",
    bug="A check-in is proof of life, whether or not anything was scanned.",
    differs="Does not look at the count of scans.",
    make=Heartbeat,
    shown_by="sampler-dead",
)
