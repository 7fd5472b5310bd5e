"""From steps to stimuli: what comes from outside, each with its instant, in the order in which it comes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple

from gatesim import events as e
from gatesim.plant.fault import FaultBegins, FaultEnds
from gatesim.plant.faults.catalogue import faults, place
from gatesim.plant.leaves import leaves
from gatesim.plant.site import Site
from gatesim.scenario import model as m


class Due(NamedTuple):
    """A stimulus and its instant."""

    at: int
    stimulus: Any


def agenda(scenario: m.Scenario) -> tuple[Due, ...]:
    """Everything that comes from outside during a scenario.

    Equal instants keep the order of the file; what ends something comes in the order of what began it.
    """
    given = [due for k, step in enumerate(scenario.steps) for due in _repeated(scenario.site, k, step)]
    given.sort(key=lambda due: due.at)  # a stable sort
    return tuple(due for due in given if due.at <= scenario.ends)


def _repeated(site: Site, number: int, step: m.AnyStep) -> Iterator[Due]:
    for turn in range(step.times):
        shift = turn * (step.every or 0)
        for due in _once(site, f"{number}.{turn}", step):
            yield Due(due.at + shift, due.stimulus)


def _once(site: Site, key: str, step: m.AnyStep) -> Iterator[Due]:
    match step:
        case m.GiveCommand():
            yield Due(step.at, e.PressControl(step.command, step.origin))
            yield Due(step.at + step.held, e.ReleaseControl(step.command, step.origin))
        case m.Obstruct():
            mine = next((zone.leaf for zone in site.zones if zone.name == step.zone), e.LeafName.FIRST).of
            for one in leaves(site):
                if one.of != mine:  # what enters here has left the way of the other leaf
                    yield Due(step.at, e.LeaveObstruction(step.obstruction, one.of))
            yield Due(step.at, e.EnterObstruction(step.obstruction, step.zone, step.position, step.stiffness,
                                                  step.touches is m.Touches.EDGE, mine,
                                                  mass=step.mass if step.stands is m.Stands.FREE else None))
            yield from (Due(step.at, e.InterruptBeam(step.obstruction, beam)) for beam in step.interrupts)
            if step.stays is not None:
                yield from _leaves(site, step.at + step.stays, step.obstruction, (mine,))
        case m.Clear():
            yield from _leaves(site, step.at, step.obstruction, [one.of for one in leaves(site)])
        case m.Interrupt():
            yield Due(step.at, e.InterruptBeam(step.by, step.beam))
            if step.lasts is not None:
                yield Due(step.at + step.lasts, e.ClearBeam(step.by, step.beam))
        case m.ClearBeam():
            yield Due(step.at, e.ClearBeam(step.by, step.beam))
        case m.PressEdge():
            yield Due(step.at, e.PressStrip(step.edge))
            yield Due(step.at + step.held, e.ReleaseStrip(step.edge))
        case m.LosePower():
            yield Due(step.at, e.LosePower())
            yield Due(step.at + step.lasts, e.ReturnPower())
        case m.PushLeaf():
            yield Due(step.at, e.PushLeaf(step.direction, step.distance, step.speed, step.by, step.leaf.of))
        case m.NewCell():
            yield Due(step.at, e.FitCell(step.transmitter))
        case m.Fault():
            yield from _fault(site, key, step)


def _leaves(site: Site, at: int, obstruction: str, ways: Iterable[str]) -> Iterator[Due]:
    """An obstruction leaves the way of these leaves, and with it every ray in which it may stand."""
    yield from (Due(at, e.LeaveObstruction(obstruction, way)) for way in ways)
    yield from (Due(at, e.ClearBeam(obstruction, beam.name)) for beam in site.beams)


def _fault(site: Site, key: str, step: m.Fault) -> Iterator[Due]:
    fault = faults()[step.fault]
    where = place(fault, site, step.device)
    for flicker in range(step.flickers):
        begin = step.at + flicker * ((step.lasts or 0) + (step.gap or 0))
        own = f"{key}.{flicker}"
        for wire in where.wires:
            yield Due(begin, FaultBegins(own, where.fault or fault, wire, where.device, where.guard))
        if step.lasts is not None:
            yield Due(begin + step.lasts, FaultEnds(own))
