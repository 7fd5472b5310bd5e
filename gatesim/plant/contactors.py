"""The two contactors of direction, the main shut-off, their read-backs, and what they physically energise."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import ContactorsChanged, Direction, LeafName, MainChanged, Stimulus
from gatesim.plant.dynamics import start_thrust
from gatesim.plant.leaves import as_leaf, leaves, named, telling
from gatesim.plant.part import Bench, Out, Part, Phase, Wire, state
from gatesim.plant.site import Site
from gatesim.plant.wires import (
    Contactor,
    ContactorReadBack,
    Load,
    MainContact,
    MainOrder,
    MainReadBack,
    Order,
    Supply,
)
from gatesim.units import FOREVER


@state
class Plain:
    """The state of a part that remembers nothing."""


@dataclass(frozen=True, slots=True)
class DirectionContactor:
    """The contactor of one direction: closed while that direction is ordered and the supply is good."""

    direction: Direction
    leaf: LeafName = LeafName.FIRST
    order: str = ""
    """The `of` of the drive order."""
    phase: ClassVar[Phase] = Phase.DRIVE
    rank: ClassVar[int] = 20
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    @property
    def name(self) -> str:
        return named(self.leaf.of, self.direction.value)

    def reads(self) -> tuple[Wire, ...]:
        return (Order(self.order), Supply())

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((Contactor(self.name), False),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> Plain:
        return Plain()

    def react(self, state: Plain, now: float, seen: list[Any], out: Out) -> float:
        (order, _), supply = seen
        out.put(0, order is self.direction and supply)
        return FOREVER


@dataclass(frozen=True, slots=True)
class MainShutOff:
    """The main shut-off: closed while it is ordered and the supply is good."""

    name: str = ""
    phase: ClassVar[Phase] = Phase.DRIVE
    rank: ClassVar[int] = 20
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    def reads(self) -> tuple[Wire, ...]:
        return (MainOrder(), Supply())

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((MainContact(), False),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> Plain:
        return Plain()

    def react(self, state: Plain, now: float, seen: list[Any], out: Out) -> float:
        ordered, supply = seen
        out.put(0, ordered and supply)
        return FOREVER


@dataclass(frozen=True, slots=True)
class ReadBack:
    """An auxiliary contact that follows a contact."""

    contact: Wire
    back: Wire
    name: str = ""
    phase: ClassVar[Phase] = Phase.DRIVE
    rank: ClassVar[int] = 30
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    def reads(self) -> tuple[Wire, ...]:
        return (self.contact,)

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((self.back, False),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> Plain:
        return Plain()

    def react(self, state: Plain, now: float, seen: list[Any], out: Out) -> float:
        out.put(0, seen[0])
        return FOREVER


@state
class DriveState:
    """What is energised, and until when a start loads the supply."""

    opening: bool
    closing: bool
    main: bool
    loads_until: float


@dataclass(frozen=True, slots=True)
class DriveTerminals:
    """What reaches the drive: says what is energised, and asks the supply for the thrust of a start.

    A start's thrust (mass times acceleration, and what holds the leaf; mN) is asked from the instant of energising
    one direction until `start_delay` (1 us at least) has passed or it is de-energised.
    """

    thrust: float
    start_delay: float
    leaf: LeafName = LeafName.FIRST
    name: str = ""
    phase: ClassVar[Phase] = Phase.DRIVE
    rank: ClassVar[int] = 40
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    def reads(self) -> tuple[Wire, ...]:
        of = self.leaf.of
        return (Contactor(named(of, "opening")), Contactor(named(of, "closing")), MainContact(), Supply())

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((Load(self.leaf.of), 0.0),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> DriveState:
        return DriveState(False, False, False, 0.0)

    def react(self, state: DriveState, now: float, seen: list[Any], out: Out) -> float:
        opening, closing, main, supply = seen
        if main != state.main:
            state.main = main
            if self.leaf is LeafName.FIRST:
                out.event(MainChanged(main))
        live = main and supply
        opening, closing = opening and live, closing and live
        if (opening, closing) != (state.opening, state.closing):
            state.opening, state.closing = opening, closing
            telling(out, self.leaf).event(ContactorsChanged(opening, closing))
            starts = opening != closing
            state.loads_until = now + max(self.start_delay, 1) if starts else now
            out.put(0, self.thrust if starts else 0.0)
        elif now >= state.loads_until:
            out.put(0, 0.0)
        return state.loads_until if state.loads_until > now else FOREVER


def parts(site: Site, bench: Bench) -> Iterable[Part]:
    """Contactors, main shut-off, read-backs and the drive's terminals."""
    for one in leaves(site):
        for direction in Direction:
            of = named(one.of, direction.value)
            yield DirectionContactor(direction, one.leaf, one.order)
            yield ReadBack(Contactor(of), ContactorReadBack(of), of)
    yield MainShutOff()
    yield ReadBack(MainContact(), MainReadBack())
    for one in leaves(site):
        yield DriveTerminals(start_thrust(as_leaf(site, one.leaf)), one.drive.start_delay, one.leaf)
