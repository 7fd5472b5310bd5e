"""The world and its instants.

`Plant` is fixed: two tables, built once, the parts by (phase, rank, order) and the wires with their readers.  `World`
is everything that changes, as one flat value.  `instant` is the only thing that changes a world: it walks the first
table, carries values along the second, and repeats while something is due at the same instant, at most eight times.
No kind of part, wire or fault is named here, and there is no agenda: whoever drives owns what is still to come.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from operator import itemgetter
from typing import Any

from gatesim.errors import ModelError
from gatesim.events import Event, Stimulus, WireDisturbed, WireRestored
from gatesim.plant.draws import draw, stream_key
from gatesim.plant.fault import FaultBegins, FaultEnds
from gatesim.plant.part import Part, Wire
from gatesim.units import FOREVER

ROUNDS = 8


Looks = Callable[[list[Any]], tuple[Any, ...]]


def _looks(wires: tuple[int, ...]) -> Looks:
    """What picks the values of these wires out of all."""
    if len(wires) > 1:
        return itemgetter(*wires)
    if not wires:
        return lambda values: ()
    (only,) = wires
    return lambda values: (values[only],)


Call = tuple[
    Callable[[Any, float, tuple[Any, ...], Any], float], Looks, tuple[int, ...], tuple[tuple[int, int, bool], ...]
]
"""All that calling a part takes, looked up once: its `react`; what picks its inputs; those of its inputs that carry
messages; each output wire, its readers (as bits), and whether it carries messages."""


class Plant:
    """The parts and the wires of one site, indexed."""

    __slots__ = ("calls", "first", "messages", "names", "parts", "sinks", "streams", "takers", "wires")

    def __init__(self, parts: Iterable[Part]) -> None:
        given = list(parts)
        order = sorted(range(len(given)), key=lambda i: (given[i].phase, given[i].rank, i))
        self.parts: tuple[Part, ...] = tuple(given[i] for i in order)
        self.wires: dict[Wire, int] = {}
        self.first: list[object] = []
        self.takers: dict[tuple[type, str], int] = {}
        outs = []
        for index, part in enumerate(self.parts):
            outs.append([self._own(wire, level, part) for wire, level in part.writes()])
            for kind in part.takes:
                self.takers[kind, part.name] = index
        self.names: tuple[Wire, ...] = tuple(self.wires)
        self.messages: tuple[bool, ...] = tuple(wire.messages for wire in self.wires)
        self.sinks: list[int] = [0] * len(self.wires)
        ins = [tuple([self._read(wire, index) for wire in part.reads()]) for index, part in enumerate(self.parts)]
        self.calls: tuple[Call, ...] = tuple([
            (part.react, _looks(read), tuple([wire for wire in read if self.messages[wire]]),
             tuple([(wire, self.sinks[wire], self.messages[wire]) for wire in written]))
            for part, read, written in zip(self.parts, ins, outs, strict=True)
        ])
        self.streams: list[tuple[tuple[int, int], ...]] = []
        count = 0
        for part in self.parts:
            keys = part.streams()
            self.streams.append(tuple([(stream_key(key), count + k) for k, key in enumerate(keys)]))
            count += len(keys)

    def _own(self, wire: Wire, level: object, part: Part) -> int:
        if wire in self.wires:
            raise ModelError(f"two parts write the {wire}, the second is {part.name!r}")
        self.first.append(() if wire.messages else level)
        return self.wires.setdefault(wire, len(self.wires))

    def _read(self, wire: Wire, reader: int) -> int:
        if wire not in self.wires:
            raise ModelError(f"{self.parts[reader].name!r} reads the {wire}, which no part writes")
        index = self.wires[wire]
        if wire.messages and self.sinks[index]:
            raise ModelError(f"two parts read the messages of the {wire}")
        self.sinks[index] |= 1 << reader
        return index

    def part_of(self, stimulus: Stimulus) -> int:
        """Which part takes this stimulus; a ModelError if none does."""
        device = getattr(stimulus, "device", "")
        try:
            return self.takers[type(stimulus), device]
        except KeyError:
            raise ModelError(f"no part takes {type(stimulus).__name__} for {device!r}") from None


class Active:
    """A fault that sits on a wire now."""

    __slots__ = ("acting", "due", "fault", "key", "said", "state", "wire")

    def __init__(self, begins: FaultBegins, wire: int) -> None:
        self.key, self.fault, self.wire = begins.key, begins.fault, wire
        self.said = (str(begins.wire), begins.device, begins.guard, begins.fault.found)
        self.state = begins.fault.initial()
        self.acting = False
        self.due = FOREVER

    def copy(self) -> Active:
        """An independent equal fault."""
        new = object.__new__(Active)
        new.key, new.fault, new.wire, new.said = self.key, self.fault, self.wire, self.said
        new.state = None if self.state is None else self.state.copy()
        new.acting, new.due = self.acting, self.due
        return new

    def facts(self) -> tuple[Any, ...]:
        """What makes two of them equal."""
        return (self.key, self.fault, self.wire, self.state, self.acting, self.due)


class World:
    """Everything that changes.  Two equal worlds of one plant have the same future under the same stimuli."""

    __slots__ = ("counters", "due", "faults", "now", "pending", "raw", "seed", "soonest", "states", "values")

    def __init__(self, plant: Plant, seed: int) -> None:
        self.now: float = 0
        self.seed = seed
        self.states: list[Any] = [part.initial() for part in plant.parts]
        self.due: dict[int, float] = {}
        """The next deadline of each part that has one."""
        self.soonest: float = FOREVER
        """The least of `due` and of what the faults wait for, as it was when the last instant ended."""
        self.raw: list[Any] = list(plant.first)
        self.values: list[Any] = list(plant.first)
        self.pending = (1 << len(plant.parts)) - 1
        self.counters: list[int] = [0] * sum(len(part.streams()) for part in plant.parts)
        self.faults: tuple[Active, ...] = ()

    def copy(self) -> World:
        """A fork: an independent equal world."""
        new = object.__new__(World)
        new.now, new.seed, new.pending, new.soonest = self.now, self.seed, self.pending, self.soonest
        new.states = [state.copy() for state in self.states]
        new.due, new.raw, new.values = self.due.copy(), self.raw[:], self.values[:]
        new.counters = self.counters[:]
        new.faults = tuple([fault.copy() for fault in self.faults]) if self.faults else ()
        return new

    def deadline(self) -> float:
        """The next instant at which anything could matter although nothing comes from outside."""
        return self.now if self.pending else self.soonest

    def __eq__(self, other: object) -> bool:
        return isinstance(other, World) and self.facts() == other.facts()

    __hash__ = None  # type: ignore[assignment]

    def facts(self) -> tuple[Any, ...]:
        """All of it as one comparable value."""
        return (self.now, self.seed, self.pending, self.states, self.due, self.raw, self.values, self.counters,
                [fault.facts() for fault in self.faults])


class _Out:
    """What parts do to the world during one instant (see `part.Out`)."""

    __slots__ = ("event", "events", "index", "now", "outs", "plant", "stimuli", "world")

    index: int
    outs: tuple[tuple[int, int, bool], ...]

    def __init__(self, plant: Plant, world: World, now: float) -> None:
        self.plant, self.world, self.now = plant, world, now
        self.events: list[Event] = []
        self.event = self.events.append
        self.stimuli: tuple[Stimulus, ...] = ()

    def put(self, k: int, value: Any) -> None:
        wire, sinks, messages = self.outs[k]
        world = self.world
        if world.faults:
            self.through(wire, value, messages)
        elif messages:
            world.values[wire] += (value,)
            world.pending |= sinks
        elif value is not (old := world.values[wire]):
            world.raw[wire] = value
            if value != old:
                world.values[wire] = value
                world.pending |= sinks

    def through(self, wire: int, value: Any, messages: bool) -> None:
        """The same where faults may sit on the wire."""
        if messages:
            self.deliver(wire, self.relay(wire, value))
        else:
            self.world.raw[wire] = value
            self.carry(wire, self.distort(wire, value))

    def carry(self, wire: int, value: Any) -> None:
        """Let the wire have this level, and wake its readers if it is a new one."""
        world = self.world
        old = world.values[wire]
        if value is not old and value != old:
            world.values[wire] = value
            world.pending |= self.plant.sinks[wire]

    def deliver(self, wire: int, messages: tuple[Any, ...]) -> None:
        if messages:
            self.world.values[wire] += messages
            self.world.pending |= self.plant.sinks[wire]

    def draw(self, stream: int, below: int) -> int:
        key, counter = self.plant.streams[self.index][stream]
        number = self.world.counters[counter]
        self.world.counters[counter] = number + 1
        return draw(self.world.seed, key, number, below)

    def distort(self, wire: int, value: Any) -> Any:
        for fault in self.world.faults:
            if fault.wire == wire:
                passed = fault.fault.passes(fault.state, value, self.now)
                if not fault.acting and passed != value:
                    self.acts(fault)
                value = passed
                fault.due = fault.fault.deadline(fault.state, self.now)
        return value

    def relay(self, wire: int, message: Any) -> tuple[Any, ...]:
        messages: tuple[Any, ...] = (message,)
        for fault in self.world.faults:
            if fault.wire == wire:
                passed = tuple([new for old in messages for new in fault.fault.relays(fault.state, old, self.now)])
                if not fault.acting and passed != messages:
                    self.acts(fault)
                messages = passed
                fault.due = fault.fault.deadline(fault.state, self.now)
        return messages

    def acts(self, fault: Active) -> None:
        fault.acting = True
        wire, device, guard, found = fault.said
        if guard is not None:
            self.events.append(WireDisturbed(wire, device, guard, found))

    def refresh(self, wire: int) -> None:
        """Pass the wire's level again: the faults on it changed."""
        if not self.plant.messages[wire]:
            self.carry(wire, self.distort(wire, self.world.raw[wire]))


def _fault_begins(out: _Out, begins: FaultBegins) -> None:
    world, plant = out.world, out.plant
    if begins.wire not in plant.wires:
        raise ModelError(f"a fault sits on the {begins.wire}, which this plant has not")
    active = Active(begins, plant.wires[begins.wire])
    world.faults = (*world.faults, active)
    active.due = active.fault.deadline(active.state, out.now)
    if active.fault.acts_on_begin:
        out.acts(active)
    out.refresh(active.wire)


def _fault_ends(out: _Out, key: str) -> None:
    world = out.world
    ended = [fault for fault in world.faults if fault.key == key]
    world.faults = tuple([fault for fault in world.faults if fault.key != key])
    for fault in ended:
        if fault.acting and fault.said[2] is not None:
            out.events.append(WireRestored(fault.said[0], fault.said[1]))
        out.refresh(fault.wire)


def _faults_tick(out: _Out) -> None:
    for fault in out.world.faults:
        if fault.due <= out.now:
            messages = fault.fault.tick(fault.state, out.now)
            if messages and not fault.acting:
                out.acts(fault)
            out.deliver(fault.wire, messages)
            fault.due = fault.fault.deadline(fault.state, out.now)
            out.refresh(fault.wire)


def _sort_in(plant: Plant, out: _Out, stimuli: Sequence[Any]) -> dict[int, tuple[Stimulus, ...]]:
    """Let faults begin and end; give every other stimulus to the part that takes it."""
    boxes: dict[int, tuple[Stimulus, ...]] = {}
    for stimulus in stimuli:
        if type(stimulus) is FaultBegins:
            _fault_begins(out, stimulus)
        elif type(stimulus) is FaultEnds:
            _fault_ends(out, stimulus.key)
        else:
            index = plant.part_of(stimulus)
            boxes[index] = (*boxes.get(index, ()), stimulus)
            out.world.pending |= 1 << index
    return boxes


def instant(plant: Plant, world: World, now: float, stimuli: Sequence[Any] = ()) -> list[Event]:
    """Live through one instant; the events in the order in which they happened.

    Raises ModelError when the parts do not settle, or when time would run backward.
    """
    if now < world.now:
        raise ModelError(f"time runs backward: from {world.now} to {now}")
    world.now = now
    out = _Out(plant, world, now)
    boxes = _sort_in(plant, out, stimuli) if stimuli else {}
    if world.faults:
        _faults_tick(out)
    due = world.due
    if world.soonest <= now:
        for index, at in due.items():
            if at <= now:
                world.pending |= 1 << index
    for _ in range(ROUNDS):
        _walk(plant, world, out, boxes)
        if not world.pending:
            soonest = min(due.values()) if due else FOREVER
            for fault in world.faults:
                soonest = min(soonest, fault.due)
            world.soonest = soonest
            return out.events
    stuck = [part.name or type(part).__name__ for i, part in enumerate(plant.parts) if world.pending >> i & 1]
    raise ModelError(f"nothing settles at {now} us after {ROUNDS} rounds: {', '.join(stuck)}")


def _walk(plant: Plant, world: World, out: _Out, boxes: dict[int, tuple[Stimulus, ...]]) -> None:
    """Once through the parts that are wanted, in order; who is wanted anew behind the present one waits for the next
    walk."""
    now, calls, states, values, due = out.now, plant.calls, world.states, world.values, world.due
    again = index = 0
    while ahead := world.pending >> index:
        index += (ahead & -ahead).bit_length() - 1
        world.pending ^= 1 << index
        react, looks, letters, out.outs = calls[index]
        seen = looks(values)
        for wire in letters:
            values[wire] = ()
        out.index = index
        out.stimuli = boxes.pop(index, ()) if boxes else ()
        at = react(states[index], now, seen, out)
        if at < FOREVER:
            due[index] = at
            if at <= now:
                again |= 1 << index
        elif index in due:
            del due[index]
        index += 1
    world.pending |= again
