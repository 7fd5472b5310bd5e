"""No automatic start with a device faulty, stale, absent, pressed or interrupted."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar, NamedTuple

from gatesim import events as e
from gatesim.events import Direction, Event, FoundBy, Guard
from gatesim.plant.part import owned, state
from gatesim.plant.site import Site
from gatesim.requirements import disturbances as f
from gatesim.requirements import driving as d
from gatesim.requirements.leaf_view import anywhere
from gatesim.requirements.monitor import Monitor, Tally, failed, held, undetermined
from gatesim.requirements.profiles import MONITORING
from gatesim.requirements.requirement import Source
from gatesim.requirements.verdict import Verdict


class Unfit(NamedTuple):
    """Why a start would be unsafe, and the event that says so (-1: nothing ever said otherwise)."""

    failure: str
    device: str
    number: int


class Asked(NamedTuple):
    """A start asked for although unsafe."""

    direction: Direction
    at: int
    number: int
    why: Unfit


@state
class StartState:
    """What is pressed, disturbed or not heard yet, and a start asked for."""

    site: Site
    driving: d.Driving = owned()
    wires: f.Disturbances = owned()
    tally: Tally = owned()
    pressed: tuple[tuple[str, int, int], ...] = ()
    interrupted: tuple[tuple[str, int, int], ...] = ()
    unheard: tuple[str, ...] = ()
    asked: Asked | None = None


class NoUnsafeStart(Monitor):
    """What physically is at the leaf's start: an edge that guards the direction pressed, a beam interrupted, its wires
    disturbed, its cell critical, its
    transmitter not heard since the supply came, or the drive disturbed in a way that a start must find.  A disturbance
    or press younger
    than its device's detection limit is judged as one in motion.  Hold-to-run and reversals are judged elsewhere.  Of
    two leaves the first that starts is judged: what comes up while the other still waits, comes up in motion.
    """

    id: ClassVar[str] = "no-unsafe-start"
    sentence: ClassVar[str] = (
        "No automatic start while a device that guards the direction is faulty, stale, absent or pressed."
    )
    failures: ClassVar[tuple[str, ...]] = (
        "edge pressed",
        "beam interrupted",
        "device faulty",
        "battery critical",
        "not yet heard",
        "drive faulty",
    )
    source: ClassVar[Source] = MONITORING
    sees: ClassVar[tuple[type, ...]] = (
        *d.SEES,
        *f.SEES,
        e.EdgeActuated,
        e.EdgeReleased,
        e.BeamInterrupted,
        e.BeamCleared,
        e.FrameArrived,
        e.PowerReturned,
    )
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.WireDisturbed, e.EdgeActuated, e.FrameArrived, e.CommandPressed)
    idle: ClassVar[str] = "no start was asked for while a device was out of order"

    def begin(self, limit: int | None, site: Site) -> StartState:
        """Nothing heard yet."""
        unheard = tuple(one.name for one in site.transmitters)
        return StartState(site, d.Driving(), f.Disturbances(site), Tally(), unheard=unheard)

    def see(self, state: StartState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        if isinstance(event, e.FrameArrived):
            if event.transmitter in state.unheard:
                state.unheard = tuple(name for name in state.unheard if name != event.transmitter)
            return
        state.wires.see(number, at, event)
        pressed = anywhere(event)
        if isinstance(pressed, e.EdgeActuated):
            state.pressed += ((pressed.edge, at, number),)
        elif isinstance(pressed, e.EdgeReleased):
            state.pressed = tuple(one for one in state.pressed if one[0] != pressed.edge)
        elif isinstance(event, e.BeamInterrupted):
            state.interrupted += ((event.beam, at, number),)
        elif isinstance(event, e.BeamCleared):
            state.interrupted = tuple(one for one in state.interrupted if one[0] != event.beam)
        elif isinstance(event, e.PowerReturned):
            state.unheard, state.asked = tuple(one.name for one in state.site.transmitters), None
        state.driving.see(at, event)
        if isinstance(event, e.CommandPressed):
            self._command(state, number, at, event)
        elif isinstance(event, e.CommandRefused):
            self._refused(state, number, at, event)
        elif isinstance(event, e.LeafStarted) and state.driving.why is d.Why.START and state.driving.leads:
            self._started(state, number, at, event.direction)

    def _command(self, state: StartState, number: int, at: int, event: e.CommandPressed) -> None:
        if event.command in (e.Command.OPEN, e.Command.CLOSE) and state.driving.resting:
            why = unfit(state, d.WAY[event.command], at)
            state.asked = None if why is None else Asked(d.WAY[event.command], at, number, why)

    def _refused(self, state: StartState, number: int, at: int, event: e.CommandRefused) -> None:
        way = d.WAY.get(event.command)
        why = (
            state.asked.why
            if state.asked is not None and state.asked.direction is way
            else (
                unfit(state, way, at)
                if way is not None and event.command in (e.Command.OPEN, e.Command.CLOSE)
                else None
            )
        )
        if why is not None:
            state.tally.take(held(at, _numbers(why.number, number), f"refused: {why.device or 'drive'}"))
        state.asked = None

    def _started(self, state: StartState, number: int, at: int, direction: Direction) -> None:
        why = unfit(state, direction, at)
        if why is not None:
            state.tally.take(failed(why.failure, at, _numbers(why.number, number), f"{why.device or 'drive'}"))
        state.asked = None

    def open_cases(self, state: StartState, now: int) -> Iterator[Verdict]:
        """A start asked for that was neither refused nor begun."""
        if state.asked is not None:
            one, site = state.asked, state.site
            evidence = _numbers(one.why.number, one.number)
            if now - one.at > site.controller.test_time + site.controller.closing_warning + site.drive.start_delay:
                yield held(one.at, evidence, "no start followed")
            else:
                yield undetermined(one.at, evidence, "the run ended before the start could have begun")


def _numbers(*numbers: int) -> tuple[int, ...]:
    return tuple(number for number in numbers if number >= 0)


def unfit(state: StartState, direction: Direction, at: int) -> Unfit | None:
    """Why an automatic start in a direction would be unsafe now."""
    site, edges = state.site, f.guarding(state.site, direction)
    for edge, since, number in state.pressed:
        if edge in edges and at - since >= f.known_at_start(site, edge, FoundBy.CONTINUOUSLY):
            return Unfit("edge pressed", edge, number)
    beams = f.beams_guarding(site, direction)
    for beam, since, number in state.interrupted:
        if beam in beams and at - since >= f.known_at_start(site, beam, FoundBy.CONTINUOUSLY):
            return Unfit("beam interrupted", beam, number)
    for one in state.wires.active:
        drive = one.guard is Guard.DRIVE and one.found is FoundBy.NEXT_START
        if not drive and not (one.guards(direction) and one.found in f.BY_START):
            continue
        if at - one.at >= f.known_at_start(site, one.carrier(site), one.found):
            name = "drive faulty" if drive else "battery critical" if one.wire.startswith("cell ") else "device faulty"
            return Unfit(name, one.device, one.number)
    for transmitter in state.unheard:
        if set(f.edges_on(site, transmitter)) & set(edges):
            return Unfit("not yet heard", transmitter, -1)
    return None


REQUIREMENT = NoUnsafeStart()
