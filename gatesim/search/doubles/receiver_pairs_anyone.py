"""A receiver whose pairing window was left open."""

from __future__ import annotations

from gatesim.plant.logic.contract import Frame, ReceiverDo, ReceiverSeen
from gatesim.plant.logic.receiver_reference import DeviceMemory, ReceiverMemory
from gatesim.search.doubles.base import Double, DoubledReceiver, Role


class PairsAnyone(DoubledReceiver):
    """The first stranger takes the place of a silent device."""

    def step(self, state: ReceiverMemory, seen: ReceiverSeen, now: float) -> tuple[ReceiverMemory, ReceiverDo]:
        for frame in seen.frames:
            if frame.sound and self.device(state, frame) is None:
                for k, (pair, device) in enumerate(zip(state.settings.paired, state.devices, strict=True)):
                    if len(pair.edges) == len(frame.levels) and now - device.last_good > 300_000 and device.heard:
                        self._adopt(state, k, device, frame)
                        break
        return super().step(state, seen, now)

    def _adopt(self, state: ReceiverMemory, number: int, device: DeviceMemory, frame: Frame) -> None:
        paired = list(state.settings.paired)
        paired[number] = paired[number]._replace(identity=frame.sender)
        state.settings = state.settings._replace(paired=tuple(paired))
        device.session, device.counter, device.samples = frame.session, (frame.counter - 1) % 256, frame.samples - 1


DOUBLE = Double(
    "receiver-pairs-anyone",
    Role.RECEIVER,
    "C6",
    bug="The pairing window stays open, and whoever comes along is paired.",
    differs="Learns the identity of the first stranger whose frame fits a device that has fallen silent.",
    make=PairsAnyone,
    shown_by="foreign-frames",
)
