"""A site with every kind of device, a run of the whole plant on it, and a tiny plant of one wire."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any, ClassVar, NamedTuple

from gatesim import events as e
from gatesim.events import Command, Direction, Origin, Stamped
from gatesim.plant import site as s
from gatesim.plant.build import build
from gatesim.plant.fault import FaultBegins, FaultEnds, Place
from gatesim.plant.given import Nothing
from gatesim.plant.logic.classifier_reference import ReferenceClassifier
from gatesim.plant.logic.contract import Roles
from gatesim.plant.logic.controller_reference import ReferenceController
from gatesim.plant.logic.receiver_reference import ReferenceReceiver
from gatesim.plant.part import Out, Phase, Wire
from gatesim.plant.radio_tables import LossPoint, Radio
from gatesim.plant.world import Plant, World, instant
from gatesim.units import FOREVER

MS, S = 1_000, 1_000_000


def _edge(name: str, zone: str, on: str, termination: float = 8_200.0) -> s.Edge:
    return s.Edge(
        name,
        zone,
        on,
        termination,
        6_000.0,
        10_000.0,
        20_000.0,
        3.0,
        50.0,
        1_500_000.0,
        10_000.0,
        60_000.0,
        40_000.0,
        500_000.0,
    )


def _transmitter(name: str, identity: int, learns: s.LearnsMotion, monitoring: s.Monitoring) -> s.Transmitter:
    cell = s.Cell(2.4e6, 3_600.0, 2_000.0, 0.05, 20.0, 2_900.0, 2_600.0, 2_100.0, 0.01)
    return s.Transmitter(
        name,
        identity,
        10 * MS,
        2,
        5,
        10 * S,
        250 * MS,
        10 * MS,
        3,
        15 * MS,
        learns,
        50 * MS,
        monitoring,
        12 * MS,
        2 * MS,
        0.0,
        1_200,
        25_000,
        4 * MS,
        0.00002,
        8.0,
        cell,
        sampling_phase=3 * MS,
        checkin_phase=100 * MS,
    )


def _radio() -> Radio:
    """A link that loses nothing on a quiet day, and half with 20 dB less."""
    return Radio(
        433.92e6, -20.0, -80.0, 1.2e6, 2.2e6, Direction.CLOSING, 3e6, 1e6,
        (LossPoint(5.0, 0.5), LossPoint(6.0, 0.5), LossPoint(12.0, 0.0)), ground_reflection=0.0)


def made() -> s.Site:
    """A gate of 4 m with seven edges: two on one transmitter that can be asked, one on a transmitter that can't, one by
    wire; two side by side in one loop, and one that opens when pressed, on another input; and a beam."""
    drive = s.Drive(
        speed_opening=0.3,
        speed_closing=0.3,
        slow_speed=0.1,
        slow_zone=300_000.0,
        acceleration=0.5e-6,
        deceleration=0.25e-6,
        start_delay=50 * MS,
        stopping_delay=50 * MS,
        stopping_deceleration=1e-6,
        stall_force=3_000_000.0,
        force_limit=300_000.0,
        force_dwell=50 * MS,
        blind_after_start=700 * MS,
        blind_at_end=20_000.0,
        limit_lead=5_000.0,
        without_power=s.WithoutPower.HELD,
    )
    return s.Site(
        "fault bench",
        s.Gate(s.GateKind.SLIDING, 4_000_000.0, 400.0, 100_000.0),
        drive,
        (
            s.Zone("front", Direction.CLOSING, 0.0, 4e6),
            s.Zone("rear", Direction.OPENING, 0.0, 4e6),
            s.Zone("front post", Direction.CLOSING, 0.0, 4e6),
            s.Zone("rear wall", Direction.OPENING, 0.0, 4e6),
            s.Zone("front jamb", Direction.CLOSING, 0.0, 4e6),
            s.Zone("front sill", Direction.CLOSING, 0.0, 4e6),
            s.Zone("front lip", Direction.CLOSING, 0.0, 4e6),
        ),
        (
            _edge("nose", "front", "pair"),
            _edge("tail", "rear", "pair", 7_500.0),
            _edge("post", "front post", "lone"),
            _edge("wall", "rear wall", "input"),
            replace(_edge("jamb", "front jamb", "second input"), band_low=3_500.0, band_high=5_500.0),
            replace(_edge("sill", "front sill", "second input"), band_low=3_500.0, band_high=5_500.0, joined_to="jamb",
                    joining=s.Joining.PARALLEL),
            replace(_edge("lip", "front lip", "second input"), strip=s.StripKind.OPENS),
        ),
        s.ControllerTable(1_000_000.0, automatic_closing=None),
        s.ReceiverTable(("pair", "lone"), 35 * S, 900 * MS),
        (
            replace(_transmitter("pair", 7, s.LearnsMotion.TOLD, s.Monitoring.BEFORE_EACH_MOVE), radio=_radio()),
            _transmitter("lone", 9, s.LearnsMotion.FELT, s.Monitoring.CONTINUOUSLY),
        ),
        (
            s.WiredInput("input", 10 * MS, 2, 5, s.Monitoring.BEFORE_EACH_MOVE, sampling_phase=3 * MS),
            s.WiredInput("second input", 10 * MS, 2, 5, s.Monitoring.BEFORE_EACH_MOVE, sampling_phase=3 * MS),
        ),
        leaf_at=4_000_000.0 - 5_000.0,
        beams=(s.Beam("ray", ("front",), 0.0, 4e6, 200_000.0, 30 * MS, 80 * MS),),
    )


SITE = made()


def references(**other: Any) -> Roles:
    """The reference logic, a role of it replaced."""
    return Roles(
        other.get("classifier", ReferenceClassifier()),
        other.get("receiver", ReferenceReceiver()),
        other.get("controller", ReferenceController(by_library=False)),
    )


Stimuli = dict[int, tuple[Any, ...]]
"""What comes from outside at each instant."""


def press(command: Command, at: int, origin: Origin = Origin.WIRED, held: int = 300 * MS) -> Stimuli:
    """A command, pressed and released."""
    return {at: (e.PressControl(command, origin),), at + held: (e.ReleaseControl(command, origin),)}


def at_place(where: Place, begin: int, end: int | None = None, key: str = "f") -> Stimuli:
    """A fault at its place, with its begin and its end."""
    stimuli: Stimuli = {
        begin: tuple([FaultBegins(key, where.fault, wire, where.device, where.guard) for wire in where.wires])
    }
    if end is not None:
        stimuli[end] = (FaultEnds(key),)
    return stimuli


def together(*several: Stimuli) -> list[tuple[int, tuple[Any, ...]]]:
    """All of them, in the order of their instants."""
    merged: Stimuli = {}
    for stimuli in several:
        for at, given in stimuli.items():
            merged[at] = (*merged.get(at, ()), *given)
    return sorted(merged.items(), key=lambda item: item[0])


class Whole:
    """The whole plant of a site, being driven."""

    def __init__(self, roles: Roles | None = None, site: s.Site = SITE, plant: Plant | None = None) -> None:
        self.plant = plant or build(site, roles or references())
        self.world = World(self.plant, 1)
        self.trace: list[Stamped] = []

    def play(self, agenda: Iterable[tuple[int, tuple[Any, ...]]], until: int) -> Whole:
        """Live on, with these stimuli, to `until`."""
        for at, stimuli in agenda:
            self._to(at)
            self._live(at, stimuli)
        self._to(until)
        return self

    def _to(self, now: float) -> None:
        while self.world.deadline() < now:
            self._live(self.world.deadline(), ())

    def _live(self, now: float, stimuli: tuple[Any, ...]) -> None:
        self.trace += [Stamped(now, event) for event in instant(self.plant, self.world, now, stimuli)]

    def all(self, kind: type) -> list[Any]:
        """Every event of a kind."""
        return [stamped.event for stamped in self.trace if type(stamped.event) is kind]

    def level(self, wire: Wire) -> Any:
        """What passes on a wire."""
        return self.world.values[self.plant.wires[wire]]


# --- a plant of one wire ---


class Put(NamedTuple):
    """Put this on the wire."""

    value: Any
    device: str = "source"


class Arrived(NamedTuple):
    """This came out of the wire."""

    value: Any


@dataclass(frozen=True, slots=True)
class Source:
    """Puts on one wire what the test says."""

    wire: Wire
    first: Any
    name: str = "source"
    phase: ClassVar[Phase] = Phase.ARRIVE
    rank: ClassVar[int] = 0
    takes: ClassVar[tuple[type, ...]] = (Put,)

    def reads(self) -> tuple[Wire, ...]:
        return ()

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((self.wire, self.first),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> Nothing:
        return Nothing()

    def react(self, state: Nothing, now: float, seen: list[Any], out: Out) -> float:
        for stimulus in out.stimuli:
            out.put(0, stimulus.value)
        return FOREVER


@dataclass(frozen=True, slots=True)
class Sink:
    """Tells what comes out of it."""

    wire: Wire
    name: str = "sink"
    phase: ClassVar[Phase] = Phase.SENSE
    rank: ClassVar[int] = 0
    takes: ClassVar[tuple[type, ...]] = ()

    def reads(self) -> tuple[Wire, ...]:
        return (self.wire,)

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ()

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> Nothing:
        return Nothing()

    def react(self, state: Nothing, now: float, seen: list[Any], out: Out) -> float:
        for value in seen[0] if self.wire.messages else (seen[0],):
            out.event(Arrived(value))
        return FOREVER


class OneWire:
    """One wire between a source and a sink; `here` is where the fault sits on it."""

    def __init__(self, wire: Wire, first: Any) -> None:
        self.wire = wire
        self.plant = Plant([Source(wire, first), Sink(wire)])
        self.world = World(self.plant, 1)
        self.events: list[Stamped] = []
        self.at(0)

    def at(self, now: int, *stimuli: Any) -> None:
        """Live on to this instant and give it these stimuli."""
        while self.world.deadline() < now:
            self._live(self.world.deadline())
        self._live(now, *stimuli)

    def _live(self, now: float, *stimuli: Any) -> None:
        self.events += [Stamped(now, event) for event in instant(self.plant, self.world, now, stimuli)]

    @property
    def level(self) -> Any:
        """What a level wire carries."""
        return self.world.values[0]

    def arrived(self, since: float = -1) -> list[tuple[float, Any]]:
        """What came out, later than `since`."""
        return [(at, event.value) for at, event in self.events if type(event) is Arrived and at > since]


__all__ = [
    "MS",
    "SITE",
    "OneWire",
    "Put",
    "S",
    "Stimuli",
    "Whole",
    "at_place",
    "made",
    "press",
    "references",
    "together",
]
