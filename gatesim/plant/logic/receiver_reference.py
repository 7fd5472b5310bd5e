"""The reference receiver with its watchdog: from frames to reports (docs/timing.md, section 7).

A frame re-arms the watchdog only when everything about it is in order: sum, identity, session, a newer counter and a
newer scan.  All frames heard are worked through and the newest stands.  What is discarded is counted.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from gatesim.events import Level
from gatesim.plant.logic.contract import Frame, Paired, ReceiverDo, ReceiverSeen, ReceiverSettings, Report
from gatesim.units import FOREVER

NAME = "reference"

_WORSE = {Level.REST: 0, Level.PRESSED: 1, Level.HIGH: 2, Level.OPEN: 3, Level.INVALID: 4}


@dataclass(slots=True)
class DeviceMemory:
    """What is remembered of one paired transmitter."""

    levels: tuple[Level, ...]
    heard: bool = False
    fresh: bool = False
    session: int = -1
    counter: int = 0
    samples: int = -1
    low: bool = False
    critical: bool = False
    echo: int = 0
    """The request that its last good frame echoed."""
    barred: bool = False
    """Whether the present request's number was already echoed before it was made: then an echo proves nothing."""
    answered: int = 0
    last_good: float = 0.0
    expiry: float = 0.0
    discarded: int = field(default=0, compare=False)
    """Counted for whoever looks.  Nothing is decided by it, so two memories that differ in it have the same future."""
    said: tuple[object, ...] = ()
    """What `reports` were made from."""
    reports: tuple[Report, ...] = ()

    def copy(self) -> DeviceMemory:
        return DeviceMemory(self.levels, self.heard, self.fresh, self.session, self.counter, self.samples, self.low,
                            self.critical, self.echo, self.barred, self.answered, self.last_good, self.expiry,
                            self.discarded, self.said, self.reports)


@dataclass(slots=True)
class ReceiverMemory:
    """Everything that the receiver remembers."""

    settings: ReceiverSettings
    devices: list[DeviceMemory]
    moving: bool = False
    ask: int = 0
    strangers: int = field(default=0, compare=False)
    """Frames of no paired identity, or with a wrong sum; as `discarded`."""
    do: ReceiverDo | None = None
    told: tuple[bool, int] = (False, 0)
    """Order and request that the last outputs told."""

    def copy(self) -> ReceiverMemory:
        return ReceiverMemory(self.settings, [device.copy() for device in self.devices], self.moving, self.ask,
                              self.strangers, self.do, self.told)


def newer(counter: int, than: int, bits: int) -> bool:
    """Whether a counter is 1 … 2^(bits-1) - 1 ahead of another, modulo 2^bits."""
    return 1 <= (counter - than) % (1 << bits) <= (1 << (bits - 1)) - 1


class ReferenceReceiver:
    """The receiver role as it should be."""

    def start(self, settings: ReceiverSettings, kept: bytes | None) -> tuple[ReceiverMemory, ReceiverDo]:
        """Power-up: nothing is heard, nothing is fresh; nothing is kept."""
        devices = [DeviceMemory((Level.INVALID,) * len(pair.edges)) for pair in settings.paired]
        memory = ReceiverMemory(settings, devices)
        return memory, _put_out(memory)

    def step(self, state: ReceiverMemory, seen: ReceiverSeen, now: float) -> tuple[ReceiverMemory, ReceiverDo]:
        """Frames first, then the order, then the watchdogs: a frame exactly at its expiry counts."""
        if seen.ask != state.ask:
            state.ask = seen.ask
            for device in state.devices:
                device.barred, device.answered = device.heard and device.echo == seen.ask, 0
        for frame in seen.frames:
            _hear(state, frame, seen.moving, now)
        if seen.moving != state.moving:
            state.moving = seen.moving
            for device in state.devices:
                _retime(device, state.settings, seen.moving, now)
        for device in state.devices:
            if device.fresh and device.expiry <= now:
                # Re-armed by a frame of this very instant, the expiry lies ahead.
                device.fresh = False
        return state, _put_out(state)


def _retime(device: DeviceMemory, settings: ReceiverSettings, moving: bool, now: float) -> None:
    """An order began or ended: the watchdogs change over."""
    if not device.fresh:
        return
    if moving:
        soonest = now + settings.watchdog_in_motion
        if soonest < device.expiry:
            device.expiry = soonest
    else:
        latest = device.last_good + settings.watchdog_at_rest
        if latest > device.expiry:
            device.expiry = latest


def _hear(state: ReceiverMemory, frame: Frame, moving: bool, now: float) -> None:
    settings = state.settings
    found = None
    if frame.sound:
        for pair, device in zip(settings.paired, state.devices, strict=True):
            if pair.identity == frame.sender and len(pair.edges) == len(frame.levels):
                found = device
    if found is None:
        state.strangers += 1
        return
    if found.heard and frame.session != found.session:
        # A new session, or a double: not fresh until a good frame of the same session follows.
        _take(found, frame)
        found.fresh = False
        return
    if found.heard and not newer(frame.counter, found.counter, settings.counter_bits):
        found.discarded += 1
        return
    if found.heard and frame.samples <= found.samples:
        _stale(found, frame)
        return
    _take(found, frame)
    found.heard = found.fresh = True
    found.last_good = now
    found.expiry = now + (settings.watchdog_in_motion if moving else settings.watchdog_at_rest)
    if frame.answer != found.echo:
        found.barred = False
    found.echo = frame.answer
    if state.ask > 0 and frame.answer == state.ask and not found.barred:
        found.answered = state.ask


def _take(device: DeviceMemory, frame: Frame) -> None:
    device.session, device.counter, device.samples = frame.session, frame.counter, frame.samples
    device.levels, device.low, device.critical = frame.levels, frame.low, frame.critical


def _stale(device: DeviceMemory, frame: Frame) -> None:
    """A newer frame without a newer scan: it proves no scan, so it can only make things worse."""
    device.discarded += 1
    if frame.samples < device.samples:
        return
    device.counter = frame.counter
    device.levels = tuple([
        new if _WORSE.get(new, 5) > _WORSE.get(old, 5) else old
        for new, old in zip(frame.levels, device.levels, strict=True)
    ])
    device.low, device.critical = device.low or frame.low, device.critical or frame.critical


def _reports(pair: Paired, device: DeviceMemory) -> tuple[Report, ...]:
    return tuple([
        Report(edge, level, device.heard, device.fresh, device.low, device.critical, device.answered, pair.asked)
        for edge, level in zip(pair.edges, device.levels, strict=True)
    ])


def _put_out(state: ReceiverMemory) -> ReceiverDo:
    """All outputs.  What says the same as the last time is not made anew."""
    before, pairs = state.do, state.settings.paired
    same, wake = state.moving == state.told[0] and state.ask == state.told[1], FOREVER
    for pair, device in zip(pairs, state.devices, strict=True):
        said = (device.levels, device.heard, device.fresh, device.low, device.critical, device.answered)
        if said != device.said:
            device.said, device.reports, same = said, _reports(pair, device), False
        if device.fresh and device.expiry < wake:
            wake = device.expiry
    due = wake if wake < FOREVER else None
    if before is not None and same:
        state.do = ReceiverDo(before.reports, before.tell, due)
    else:
        state.told = (state.moving, state.ask)
        tell = tuple([(pair.transmitter, *state.told) for pair in pairs])
        state.do = ReceiverDo(tuple([each for device in state.devices for each in device.reports]), tell, due)
    return state.do


RECEIVER = ReferenceReceiver()
