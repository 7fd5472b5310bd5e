"""Tiny plants for the tests of edges, transmitters, paths and receivers: the parts under test, and levers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, ClassVar, NamedTuple

from gatesim.events import Direction, FoundBy, Guard, Stamped
from gatesim.plant import (
    cell,
    motion_sense,
    radio_path,
    receiver,
    transmitter,
    transmitter_clock,
    wired_input,
    wires,
)
from gatesim.plant.edges import converter, loop, strip
from gatesim.plant.fault import FaultBegins, FaultEnds, Steady
from gatesim.plant.logic.classifier_reference import ReferenceClassifier
from gatesim.plant.logic.contract import Roles
from gatesim.plant.logic.receiver_reference import ReferenceReceiver
from gatesim.plant.part import Part, Phase, Wire, state
from gatesim.plant.site import (
    Cell,
    ControllerTable,
    Drive,
    Edge,
    Gate,
    GateKind,
    LearnsMotion,
    Monitoring,
    ReceiverTable,
    Site,
    Transmitter,
    WiredInput,
    WithoutPower,
    Zone,
)
from gatesim.plant.wires import Piece
from gatesim.plant.world import Plant, World, instant
from gatesim.units import FOREVER

MS = 1_000
S = 1_000_000

CELL = Cell(2.4e6, 3600, 2000, 0.2, 25, 2600, 2400, 2100, 0.0)
NODE = Transmitter("tx", 7, 10 * MS, 2, 4, 10 * S, S, 0, 3, 15 * MS, LearnsMotion.TOLD, 0, Monitoring.BEFORE_EACH_MOVE,
                   20 * MS, 0, 0.0, 5 * MS, 25_000, 12 * MS, 0.0, 2.0, CELL, sampling_phase=3 * MS)
WIRED = WiredInput("in", 10 * MS, 2, 4, Monitoring.BEFORE_EACH_MOVE, sampling_phase=3 * MS)
EDGE = Edge("edge", "post", "tx", 8200, 6000, 10_500, 30_000, 3.0, 100, 2e6, 5000, 50_000, 30_000, 400_000)
GATE = Gate(GateKind.SLIDING, 4e6, 400, 100_000)
DRIVE = Drive(0.2, 0.2, 0.05, 3e5, 1e-6, 1e-6, 100 * MS, 50 * MS, 1e-6, 5e5, 2e5, 50 * MS, 500 * MS, 20_000, 15_000,
              WithoutPower.HELD)
RECEIVER = ReceiverTable(("tx",), 33 * S, 3_200 * MS)


def site(**changes: Any) -> Site:
    """A site with one edge on one transmitter; `node`, `cell`, `edge` change their tables, the rest the site's."""
    node = replace(NODE, cell=replace(CELL, **changes.pop("cell", {})), **changes.pop("node", {}))
    edge = replace(EDGE, **changes.pop("edge", {}))
    table = replace(RECEIVER, **changes.pop("receiver", {}))
    made = Site("bench", GATE, DRIVE, (Zone("post", Direction.CLOSING, 0, 4e6),), (edge,),
                ControllerTable(1e6), table, (node,))
    return replace(made, **changes)


def wired_site(**node: Any) -> Site:
    """A site with one edge on one wired input."""
    return site(edge={"input": "in"}, transmitters=(), receiver={"pairs": ()},
                wired_inputs=(replace(WIRED, **node),))


class Pull(NamedTuple):
    """Set a lever."""

    device: str
    value: Any


@state
class LeverState:
    """Nothing."""


@dataclass(frozen=True, slots=True)
class Lever:
    """Puts on a wire what the test says."""

    wire: Wire
    first: Any
    phase: Phase = Phase.ARRIVE
    rank: ClassVar[int] = 1
    takes: ClassVar[tuple[Any, ...]] = (Pull,)

    @property
    def name(self) -> str:
        return str(self.wire)

    def reads(self) -> tuple[Wire, ...]:
        return ()

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((self.wire, self.first),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> LeverState:
        return LeverState()

    def react(self, state: LeverState, now: float, seen: list[Any], out: Any) -> float:
        for pull in out.stimuli:
            out.put(0, pull.value)
        return FOREVER


def pull(wire: Wire, value: Any) -> Pull:
    return Pull(str(wire), value)


def roles(classifier: Any = None, role: Any = None) -> Roles:
    return Roles(classifier or ReferenceClassifier(), role or ReferenceReceiver(), None)  # type: ignore[arg-type]


def levers(table: Site) -> list[Part]:
    """A lever on every wire that comes from outside these rooms."""
    return [Lever(wires.Supply(), True), Lever(wires.Ask(), 0), Lever(wires.Order(), (None, False), Phase.DECIDE),
            Lever(wires.Motion(), (Piece(0, 0.0, 0.0, 0.0),)),
            *[Lever(wires.StripPressed(edge.name), False) for edge in table.edges]]


def parts(table: Site, bench: Roles | None = None) -> list[Part]:
    """All parts of these rooms for a site, and the levers."""
    made: list[Part] = levers(table)
    for room in (strip, loop, converter, cell, motion_sense, radio_path, transmitter, transmitter_clock, receiver,
                 wired_input):
        made += list(room.parts(table, bench or roles()))
    return made


def plant(table: Site, bench: Roles | None = None) -> Plant:
    return Plant(parts(table, bench))


class Run:
    """A world being driven: at each instant that is due, and at each stimulus."""

    def __init__(self, made: Plant | Site, seed: int = 1) -> None:
        self.plant = made if isinstance(made, Plant) else plant(made)
        self.world = World(self.plant, seed)
        self.trace: list[Stamped] = []
        self.instants = 0

    def fork(self) -> Run:
        new = object.__new__(Run)
        new.plant, new.world, new.trace, new.instants = self.plant, self.world.copy(), self.trace[:], self.instants
        return new

    def at(self, t: float, *stimuli: Any) -> Run:
        """Live up to `t` and through it, with these stimuli."""
        while self.world.deadline() < t:
            self._live(self.world.deadline(), ())
        self._live(t, stimuli)
        return self

    def _live(self, t: float, stimuli: tuple[Any, ...]) -> None:
        self.instants += 1
        self.trace += [Stamped(t, event) for event in instant(self.plant, self.world, t, stimuli)]

    def all(self, kind: type) -> list[tuple[float, Any]]:
        return [(at, event) for at, event in self.trace if type(event) is kind]

    def level(self, wire: Wire) -> Any:
        return self.world.values[self.plant.wires[wire]]

    def state(self, name: str, kind: type) -> Any:
        for part, one in zip(self.plant.parts, self.world.states, strict=True):
            if part.name == name and type(part) is kind:
                return one
        raise AssertionError(name)


class Cut(Steady):
    """Loses every message."""

    id = "cut"
    title = "cut"
    found = FoundBy.CONTINUOUSLY

    def relays(self, state: Any, message: Any, now: float) -> tuple[Any, ...]:
        return ()


class Set(Steady):
    """Holds a wire at a value."""

    id = "set"
    title = "set"
    found = FoundBy.CONTINUOUSLY

    def __init__(self, value: Any) -> None:
        self.value = value

    def passes(self, state: Any, value: Any, now: float) -> Any:
        return self.value


def begins(fault: Any, wire: Wire, key: str = "f") -> FaultBegins:
    return FaultBegins(key, fault, wire, wire.of, Guard.CLOSING)


def ends(key: str = "f") -> FaultEnds:
    return FaultEnds(key)


