"""The operator's electronics: the part that hosts the controller role, its panel, its store and its sounder."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar, NamedTuple

from gatesim.events import (
    Announced,
    Brake,
    CommandPressed,
    CommandRefused,
    CommandReleased,
    Lockout,
    OrdersChanged,
    PressControl,
    ReleaseControl,
    SounderChanged,
    StartTested,
    StoreWritten,
)
from gatesim.plant import wires as w
from gatesim.plant.leaves import leaves, leaves_of_beam, named, of_one, of_operator
from gatesim.plant.logic.contract import (
    Controller,
    ControllerDo,
    ControllerSeen,
    ControllerSettings,
    GuardedEdge,
    Kind,
    Report,
    Roles,
)
from gatesim.plant.part import Out, Phase, Wire, state
from gatesim.plant.site import AfterFault, CountCleared, Site, guarded
from gatesim.plant.travel_sensor import Travelled, measured_at
from gatesim.units import FOREVER


def controller_settings(site: Site) -> ControllerSettings:
    """What a controller is told about its site."""
    table, zones = site.controller, {zone.name: zone for zone in site.zones}
    edges = tuple(
        GuardedEdge(edge.name, zones[edge.zone].direction, edge.input, leaf=zones[edge.zone].leaf)
        for edge in site.edges)
    edges += tuple(
        GuardedEdge(beam.name, guarded(site, beam), beam.name, Kind.BEAM, of_one(leaves_of_beam(site, beam)))
        for beam in site.beams)
    return ControllerSettings(
        edges=edges, travel=sum(one.gate.travel for one in leaves(site)), reversal_distance=table.reversal_distance,
        opening_relief=table.opening_relief, second_demand_relief=table.second_demand_relief,
        reversal_dwell=table.reversal_dwell, test_time=table.test_time, start_limit=table.start_limit,
        stop_limit=table.stop_limit, travel_time_opening=table.travel_time_opening,
        travel_time_closing=table.travel_time_closing, press_limit=table.press_limit,
        recovery_time=table.recovery_time, reset_window=table.reset_window, alarm_time=table.alarm_time,
        automatic_closing=table.automatic_closing, closing_warning=table.closing_warning,
        fault_locks_both=table.after_fault is AfterFault.BOTH,
        count_cleared_at_any_end=table.count_cleared is CountCleared.ANY_END, faults_a_day=table.faults_a_day)


class CallController(NamedTuple):
    """A controller that works by itself has put something out (taken by its host, which then asks it)."""

    device: str = "controller"


class HostState:
    """The hosted logic's state and what it last saw and did."""

    __slots__ = ("done", "image", "logic", "powered")

    def __init__(self) -> None:
        self.logic: Any = None
        self.powered = False
        self.image: tuple[Any, ...] | None = None
        self.done: ControllerDo | None = None

    def copy(self) -> HostState:
        """An independent equal state (the logic's state by its own `copy`)."""
        new = HostState()
        new.logic = None if self.logic is None else self.logic.copy()
        new.powered, new.image, new.done = self.powered, self.image, self.done
        return new

    def __eq__(self, other: object) -> bool:
        return isinstance(other, HostState) and (self.logic, self.powered, self.image, self.done) == (
            other.logic, other.powered, other.image, other.done)

    __hash__ = None  # type: ignore[assignment]


@dataclass(frozen=True, slots=True)
class ControllerHost:
    """Hosts the controller role: image in, orders out, called when the image changes and at the wake it asked for."""

    settings: ControllerSettings
    controller: Controller
    of: str = ""
    """The `of` of the wires that tell of its leaf, or of both."""
    name: str = "controller"
    phase: ClassVar[Phase] = Phase.DECIDE
    rank: ClassVar[int] = 0
    takes: ClassVar[tuple[type, ...]] = (CallController,)

    def reads(self) -> tuple[Wire, ...]:
        of = self.of
        fixed = (w.Supply(), w.Stored(), w.Counts(of), w.Controls(), w.LimitSwitch(named(of, "closed")),
                 w.LimitSwitch(named(of, "open")), w.ForceTrip(of), w.ForceReady(of),
                 w.ContactorReadBack(named(of, "opening")), w.ContactorReadBack(named(of, "closing")),
                 w.MainReadBack(), w.Sound())
        return (*fixed, *(w.ReportLine(edge.edge) for edge in self.settings.edges))

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((w.Order(), (None, False)), (w.MainOrder(), False), (w.BrakeOrder(), Brake.HOLD), (w.Alarm(), False),
                (w.Ask(), 0), (w.Watch(), None), (w.ToStore(), (b"", Lockout.NONE)))

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> HostState:
        return HostState()

    def react(self, state: HostState, now: float, seen: list[Any], out: Out) -> float:
        supply, stored, counts = seen[0], seen[1], seen[2]
        if not supply:
            self._dark(state, out)
            if state.logic is None:
                return FOREVER
        elif not state.powered:
            state.powered, state.image, state.done = True, None, None
            if state.logic is None:
                state.logic, do = self.controller.start(self.settings, stored or None)
                self._put(state, do, out)
        image = (supply, counts.motion, counts.known, counts.crossings, *seen[3:])
        wake = state.done.wake if state.done is not None else None
        if image != state.image or (wake is not None and now >= wake) or out.stimuli:
            state.image = image
            state.logic, do = self.controller.step(state.logic, self._image(seen, counts, now), now)
            if supply:
                self._put(state, do, out)
            else:
                state.done = do  # it acts on nothing
        wake = state.done.wake if state.done is not None else None
        return FOREVER if wake is None or wake <= now else wake

    def _image(self, seen: list[Any], counts: Travelled, now: float) -> ControllerSeen:
        reports: tuple[Report, ...] = tuple(seen[12:])
        return ControllerSeen(
            controls=seen[3], at_closed=seen[4], at_open=seen[5], reports=reports, force=seen[6], force_ready=seen[7],
            position=measured_at(counts, now), position_known=counts.known, motion=counts.motion,
            opening_contactor=seen[8], closing_contactor=seen[9], main_closed=seen[10], sounder=seen[11],
            supply_good=bool(seen[0]))

    def _dark(self, state: HostState, out: Out) -> None:
        """The supply goes: the outputs are off, and what has no supply of its own remembers nothing."""
        if state.powered:
            state.powered, state.image, state.done = False, None, None
            if getattr(self.controller, "power_cycles", True):
                state.logic = None
            out.put(0, (None, False))
            out.put(1, False)
            out.put(2, Brake.HOLD)
            out.put(3, False)
            out.put(5, None)

    def _put(self, state: HostState, do: ControllerDo, out: Out) -> None:
        before, state.done = state.done, do
        out.put(0, (do.order, do.slow))
        out.put(1, do.main)
        out.put(2, do.brake)
        out.put(3, do.alarm)
        out.put(4, do.ask)
        out.put(5, do.watch)
        out.put(6, (do.keep, do.lockout))
        for tested in do.tested:
            out.event(StartTested(*tested))
        for refused in do.refused:
            out.event(CommandRefused(*refused))
        for notice in do.notices:
            out.event(Announced(*notice))
        if before is None or before[:8] != do[:8]:
            out.event(OrdersChanged(*do[:8]))


@state
class _Pressed:
    controls: frozenset[Any] = frozenset()


@dataclass(frozen=True, slots=True)
class Panel:
    """All controls, wired and radio, as contacts that are pressed or not."""

    name: str = ""
    phase: ClassVar[Phase] = Phase.ARRIVE
    rank: ClassVar[int] = 0
    takes: ClassVar[tuple[type, ...]] = (PressControl, ReleaseControl)

    def reads(self) -> tuple[Wire, ...]:
        return ()

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((w.Controls(), frozenset()),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> _Pressed:
        return _Pressed()

    def react(self, state: _Pressed, now: float, seen: list[Any], out: Out) -> float:
        for stimulus in out.stimuli:
            control = (stimulus[0], stimulus[1])
            if type(stimulus) is PressControl:
                state.controls |= {control}
                out.event(CommandPressed(*control))
            else:
                state.controls -= {control}
                out.event(CommandReleased(*control))
        out.put(0, state.controls)
        return FOREVER


@state
class _Kept:
    held: bytes = b""
    coming: tuple[bytes, Lockout] = (b"", Lockout.NONE)
    at: float = FOREVER


@dataclass(frozen=True, slots=True)
class Store:
    """The non-volatile store: what it is given is kept `store_write` later, if the supply lasts that long."""

    store_write: int
    name: str = "store"
    phase: ClassVar[Phase] = Phase.DRIVE
    rank: ClassVar[int] = 0
    takes: ClassVar[tuple[type, ...]] = ()

    def reads(self) -> tuple[Wire, ...]:
        return (w.ToStore(), w.Supply())

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((w.Stored(), b""),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> _Kept:
        return _Kept()

    def react(self, state: _Kept, now: float, seen: list[Any], out: Out) -> float:
        given, supply = seen
        if not supply:
            state.at, state.coming = FOREVER, (state.held, state.coming[1])
            return FOREVER
        if now >= state.at:
            state.held, state.at = state.coming[0], FOREVER
            out.put(0, state.held)
            out.event(StoreWritten(state.coming[1]))
        if given[0] != state.coming[0]:
            state.coming, state.at = given, now + self.store_write
        return state.at


@state
class _Sounding:
    sounding: bool = False


@dataclass(frozen=True, slots=True)
class SounderDriver:
    """The alarm's sounder, on the operator's supply."""

    name: str = "sounder"
    phase: ClassVar[Phase] = Phase.DRIVE
    rank: ClassVar[int] = 5
    takes: ClassVar[tuple[type, ...]] = ()

    def reads(self) -> tuple[Wire, ...]:
        return (w.Alarm(), w.Supply())

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((w.Sound(), False),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> _Sounding:
        return _Sounding()

    def react(self, state: _Sounding, now: float, seen: list[Any], out: Out) -> float:
        out.put(0, seen[0] and seen[1])
        return FOREVER


@dataclass(frozen=True, slots=True)
class Ear:
    """Records what the sounder really does."""

    name: str = "ear"
    phase: ClassVar[Phase] = Phase.SENSE
    rank: ClassVar[int] = 9
    takes: ClassVar[tuple[type, ...]] = ()

    def reads(self) -> tuple[Wire, ...]:
        return (w.Sound(),)

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ()

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> _Sounding:
        return _Sounding()

    def react(self, state: _Sounding, now: float, seen: list[Any], out: Out) -> float:
        if seen[0] is not state.sounding:
            state.sounding = seen[0]
            out.event(SounderChanged(state.sounding))
        return FOREVER


def parts(site: Site, bench: Roles) -> Iterable[Any]:
    """Panel, controller, store and sounder."""
    yield Panel()
    yield ControllerHost(controller_settings(site), bench.controller, of_operator(site))
    yield Store(site.controller.store_write)
    yield SounderDriver()
    yield Ear()
