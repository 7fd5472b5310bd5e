"""A small bench: parts of the plant on wires that a test feeds by hand."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, ClassVar, NamedTuple

import pytest

from gatesim.events import Brake, Direction, Event, Stamped
from gatesim.plant import wires as w
from gatesim.plant.given import Nothing
from gatesim.plant.motion import rest
from gatesim.plant.part import Out, Part, Phase, Wire
from gatesim.plant.site import ControllerTable, Drive, Edge, Gate, GateKind, Site, WithoutPower, Zone
from gatesim.plant.travel_sensor import Travelled
from gatesim.plant.world import Plant, World, instant
from gatesim.units import FOREVER


class Feed(NamedTuple):
    """Put this level on the wire of this name."""

    value: Any
    device: str


@dataclass(frozen=True, slots=True)
class Feeder:
    """Feeds one wire."""

    wire: Wire
    level: Any
    phase: ClassVar[Phase] = Phase.ARRIVE
    rank: ClassVar[int] = 0
    takes: ClassVar[tuple[type, ...]] = (Feed,)

    @property
    def name(self) -> str:
        return str(self.wire)

    def reads(self) -> tuple[Wire, ...]:
        return ()

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((self.wire, self.level),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> Nothing:
        return Nothing()

    def react(self, state: Nothing, now: float, seen: list[Any], out: Out) -> float:
        for stimulus in out.stimuli:
            out.put(0, stimulus.value)
        return FOREVER


IDLE: dict[type[Wire], Any] = {
    w.Order: (None, False), w.MainOrder: True, w.MainContact: True, w.Contactor: False, w.Supply: True,
    w.BrakeOrder: Brake.HOLD, w.Deceleration: 1e-6, w.DriveDirection: True, w.Blocks: (), w.Motion: rest(0.0, 0.0),
    w.Ask: 0, w.SensorGain: 1.0, w.ForceGain: 1.0, w.LimitSwitch: False, w.Watch: None, w.Load: 0.0,
    w.Counts: Travelled(rest(0.0, 0.0), True, None, 0), w.ForceTrip: False, w.ForceReady: True,
    w.ContactorReadBack: False,
}


class Bench:
    """Parts, the wires they lack, and what has happened."""

    def __init__(self, parts: Iterable[Part]) -> None:
        given = list(parts)
        written = {wire for part in given for wire, _ in part.writes()}
        lacking = dict.fromkeys(wire for part in given for wire in part.reads() if wire not in written)
        self.plant = Plant([*(Feeder(wire, IDLE[type(wire)]) for wire in lacking), *given])
        self.world = World(self.plant, 1)
        self.log: list[Stamped] = []
        self.calls = 0

    def fork(self) -> Bench:
        """The same bench in a world of its own, with an empty log."""
        new = object.__new__(Bench)
        new.plant, new.world, new.log, new.calls = self.plant, self.world.copy(), [], 0
        return new

    def at(self, now: float, *stimuli: Any) -> list[Event]:
        """Live on to `now` and give these stimuli; the events of that instant."""
        while self.world.deadline() < now:
            self._step(self.world.deadline())
        return self._step(now, *stimuli)

    def until(self, now: float) -> list[Stamped]:
        """Live on to `now`; all that has happened since the start."""
        while self.world.deadline() <= now:
            self._step(self.world.deadline())
        return self.log

    def _step(self, now: float, *stimuli: Any) -> list[Event]:
        self.calls += 1
        events = instant(self.plant, self.world, now, stimuli)
        self.log += [Stamped(now, event) for event in events]
        return events

    def level(self, wire: Wire) -> Any:
        """What the wire carries."""
        return self.world.values[self.plant.wires[wire]]

    def all(self, kind: type) -> list[Stamped]:
        """Everything of one kind that has happened."""
        return [stamped for stamped in self.log if type(stamped.event) is kind]

    def instants(self, kind: type) -> list[float]:
        """When."""
        return [stamped.at for stamped in self.all(kind)]


@pytest.fixture
def bench() -> Callable[[Iterable[Part]], Bench]:
    """Makes a bench of parts."""
    return Bench


@pytest.fixture
def feed() -> Callable[[Wire, Any], Feed]:
    """Makes the stimulus that feeds a wire."""
    return lambda wire, value: Feed(value, str(wire))


@pytest.fixture
def site() -> Site:
    """A plain sliding gate of our own: 4 m travel, 400 kg, 0.3 m/s, an edge for each direction."""
    def edge(name: str, zone: str) -> Edge:
        return Edge(name, zone, "in", 8_200.0, 6_000.0, 10_000.0, 20_000.0, 1.0, 50.0, 1_500_000.0, 10_000.0, 60_000.0,
                    40_000.0, 500_000.0)

    drive = Drive(
        speed_opening=0.3, speed_closing=0.3, slow_speed=0.1, slow_zone=300_000.0, acceleration=0.5e-6,
        deceleration=0.25e-6, start_delay=100_000, stopping_delay=150_000, stopping_deceleration=1e-6,
        stall_force=1_000_000.0, force_limit=300_000.0, force_dwell=50_000, blind_after_start=700_000,
        blind_at_end=25_000.0, limit_lead=5_000.0, without_power=WithoutPower.HELD)
    return Site(
        "yard", Gate(GateKind.SLIDING, 4_000_000.0, 400.0, 100_000.0), drive,
        (Zone("front", Direction.CLOSING, 0.0, 4_000_000.0), Zone("rear", Direction.OPENING, 0.0, 4_000_000.0)),
        (edge("nose", "front"), edge("tail", "rear")), ControllerTable(1_000_000.0), leaf_at=4_000_000.0)
