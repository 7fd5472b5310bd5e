"""A receiver for which a press is an event."""

from __future__ import annotations

from gatesim.plant.logic.contract import Frame
from gatesim.plant.logic.receiver_reference import DeviceMemory, ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role


class OneShot(DoubledReceiver):
    """Takes levels from the burst of frames after a change; a check-in only says that all is alive."""

    def odd(self, state: ReceiverMemory, device: DeviceMemory, frame: Frame, moving: bool, now: float) -> Frame | None:
        return frame._replace(levels=device.levels) if device.heard and now - device.last_good > 30_000 else frame


DOUBLE = Double(
    "receiver-one-shot",
    Role.RECEIVER,
    "C15",
    bug="A press is an event: if its frames are lost, it never was.",
    differs="Takes levels from the burst of frames after a change only.",
    make=OneShot,
    shown_by="event-lost",
)
