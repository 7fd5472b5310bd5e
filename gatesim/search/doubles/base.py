"""What defective doubles share: how one is described, and the reference with one place at which it differs.

A double is logic like any other: it uses the contract and nothing else, and all that it remembers is in its state.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import Enum
from typing import Any, ClassVar, NamedTuple

from gatesim.plant.fsm import Row, Table
from gatesim.plant.logic import receiver_reference as r
from gatesim.plant.logic.classifier_reference import ReferenceClassifier
from gatesim.plant.logic.contract import (
    ClassifierDo,
    ClassifierSeen,
    ClassifierSettings,
    ControllerDo,
    ControllerSeen,
    ControllerSettings,
    Frame,
    ReceiverDo,
    ReceiverSeen,
    ReceiverSettings,
    Report,
    Roles,
)
from gatesim.plant.logic.controller_reference import ReferenceController
from gatesim.plant.logic.controller_table import TABLE, Mode, Trigger
from gatesim.plant.logic.receiver_reference import DeviceMemory, ReceiverMemory, ReferenceReceiver


class Role(Enum):
    """The place that a double takes."""

    CLASSIFIER = "classifier"
    RECEIVER = "receiver"
    CONTROLLER = "controller"


class Double(NamedTuple):
    """A defective double.  `make()` gives fresh logic for its role."""

    name: str
    """Its file's name with hyphens."""
    role: Role
    row: str
    """Row of the fault catalogue (docs/fault-catalogue.md) whose classic bug it has."""
    bug: str
    """The classic bug, in one sentence."""
    differs: str
    """What it does at the one place where it is other than the reference."""
    make: Callable[[], Any]
    shown_by: str = ""
    """The shipped scenario that exposes it: its file's name without what all end with."""
    equivalent: str = ""
    """Why nothing can tell it from the reference; "" where something can."""

    def roles(self, reference: Roles) -> Roles:
        """The reference logic with this double in its place."""
        return reference._replace(**{self.role.value: self.make()})


@dataclass
class Doubled:
    """The reference's memory, what was done last, and a note of the double's own."""

    memory: Any
    done: Any
    note: tuple[Any, ...] = ()

    def copy(self) -> Doubled:
        return Doubled(self.memory.copy(), self.done, self.note)


class DoubledClassifier:
    """The reference classifier behind a false picture of the codes: `image` falsifies it."""

    def __init__(self) -> None:
        self.inner = ReferenceClassifier()

    def start(self, settings: ClassifierSettings, kept: bytes | None) -> tuple[Doubled, ClassifierDo]:
        memory, do = self.inner.start(settings, kept)
        return Doubled(memory, do), do

    def image(self, state: Doubled, seen: ClassifierSeen, now: float) -> ClassifierSeen:
        return seen

    def step(self, state: Doubled, seen: ClassifierSeen, now: float) -> tuple[Doubled, ClassifierDo]:
        state.memory, state.done = self.inner.step(state.memory, self.image(state, seen, now), now)
        return state, state.done


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
        """What the receiver puts out for what it remembers now."""
        return r._put_out(state)


def after(device: DeviceMemory, frame: Frame) -> Frame:
    """The frame, made to look like the next one of the session known."""
    return frame._replace(session=device.session, counter=(device.counter + 1) % 256, samples=device.samples + 1)


class DoubledController:
    """The reference controller behind a false picture of what is: `image` falsifies it."""

    inner: ReferenceController

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


def each_report(seen: ControllerSeen, change: Callable[[Report], Report]) -> ControllerSeen:
    """The image with every report changed."""
    return seen._replace(reports=tuple([change(report) for report in seen.reports]))


def table_with(change: Callable[[Row], Row | None],
               also_ignored: Iterable[tuple[Mode, Trigger]] = ()) -> Table[Any, Any, Any, Any]:
    """The reference controller's table with rows changed, or dropped (None)."""
    rows = [new for row in TABLE.rows if (new := change(row)) is not None]
    return Table(Mode, Trigger, TABLE.first, rows, [*TABLE.ignored, *also_ignored])


class OtherTable(ReferenceController):
    """The reference controller by another table."""

    table: ClassVar[Table[Any, Any, Any, Any]]

    def __init__(self) -> None:
        super().__init__(by_library=False)
        self._fire = self.table.fire


__all__ = ["Double", "Doubled", "DoubledClassifier", "DoubledController", "DoubledReceiver", "Frame", "OtherTable",
           "ReceiverDo", "ReceiverSeen", "Role", "after", "each_report", "table_with"]
