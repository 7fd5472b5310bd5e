"""What the doubles share: the reference, with one place at which each of them differs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from gatesim.plant.logic import receiver_reference as r
from gatesim.plant.logic.contract import (
    ControllerDo,
    ControllerSeen,
    ControllerSettings,
    Frame,
    ReceiverDo,
    ReceiverSeen,
    ReceiverSettings,
)
from gatesim.plant.logic.controller_reference import ReferenceController
from gatesim.plant.logic.receiver_reference import DeviceMemory, ReceiverMemory, ReferenceReceiver


class DoubledReceiver(ReferenceReceiver):
    """The reference receiver, frame by frame: `odd` may change a frame, or deal with it itself (None)."""

    def odd(self, state: ReceiverMemory, device: DeviceMemory, frame: Frame, moving: bool, now: float) -> Frame | None:
        return frame

    def step(self, state: ReceiverMemory, seen: ReceiverSeen, now: float) -> tuple[ReceiverMemory, ReceiverDo]:
        for frame in seen.frames:
            device = self.device(state, frame)
            told = self.odd(state, device, frame, seen.moving, now) if device is not None else frame
            if told is not None:
                state, _ = super().step(state, seen._replace(frames=(told,)), now)
        return super().step(state, seen._replace(frames=()), now)

    def device(self, state: ReceiverMemory, frame: Frame) -> DeviceMemory | None:
        """The paired device that this frame says it is from."""
        for pair, device in zip(state.settings.paired, state.devices, strict=True):
            if pair.identity == frame.sender:
                return device
        return None

    def rearm(self, state: ReceiverMemory, device: DeviceMemory, moving: bool, now: float) -> None:
        """Take the device for alive."""
        limits: ReceiverSettings = state.settings
        device.fresh, device.last_good = device.heard, now
        device.expiry = now + (limits.watchdog_in_motion if moving else limits.watchdog_at_rest)

    def out(self, state: ReceiverMemory) -> ReceiverDo:
        return r._put_out(state)


def after(device: DeviceMemory, frame: Frame) -> Frame:
    """The frame, made to look like the next one of the session known."""
    return frame._replace(session=device.session, counter=(device.counter + 1) % 256, samples=device.samples + 1)


@dataclass
class Doubled:
    """The reference's memory, what was done last, and a note of the double's own."""

    memory: Any
    done: ControllerDo
    note: tuple[Any, ...] = ()

    def copy(self) -> Doubled:
        return Doubled(self.memory.copy(), self.done, self.note)


class DoubledController:
    """The reference controller behind a false picture of what is: `image` falsifies it."""

    def __init__(self) -> None:
        self.inner = ReferenceController(by_library=False)

    def start(self, settings: ControllerSettings, kept: bytes | None) -> tuple[Doubled, ControllerDo]:
        memory, do = self.inner.start(settings, kept)
        return Doubled(memory, do), do

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        return seen

    def step(self, state: Doubled, seen: ControllerSeen, now: float) -> tuple[Doubled, ControllerDo]:
        state.memory, state.done = self.inner.step(state.memory, self.image(state, seen, now), now)
        return state, state.done
