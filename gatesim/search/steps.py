"""Steps of a scenario as a file states them, and the steps that stand behind stimuli: both ways out of a search."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import MISSING, fields
from enum import Enum
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from gatesim import events as e
from gatesim.events import LeafName
from gatesim.plant.fault import FaultBegins, FaultEnds
from gatesim.scenario import model as m
from gatesim.scenario.agenda import Due
from gatesim.units import Dimension, Quantity, format_quantity

Tree = dict[str, Any]
FOR_EVER = 100_000_000_000
"""What is never let go, or never comes back, in a list of stimuli lasts so long (us)."""


def scenario_tree(scenario: m.Scenario, site: str) -> Tree:
    """The tree of a scenario file; `site`: the path to the site as that file states it."""
    return {
        "format": "gatesim-scenario/1", "title": scenario.title, "teaches": scenario.teaches, "site": site,
        "seed": str(scenario.seed), "ends": format_quantity(scenario.ends, Dimension.DURATION),
        "steps": [step_tree(step) for step in scenario.steps], "expect": [],
    }


def step_tree(step: m.AnyStep) -> Tree:
    """A step as a file states it: only what is not as it is by default."""
    hints = get_type_hints(type(step), include_extras=True)
    told: Tree = {"at": format_quantity(step.at, Dimension.DURATION), "do": step.do}
    for field in fields(step):
        value = getattr(step, field.name)
        if field.name in told or (field.default is not MISSING and value == field.default):
            continue
        told[field.name] = _text(value, hints[field.name])
    return told


def _text(value: Any, kind: Any) -> Any:
    quantity = _quantity(kind)
    if quantity is not None:
        return format_quantity(value, quantity.dimension)
    if isinstance(value, Enum):
        return value.value
    return list(value) if isinstance(value, tuple) else str(value)


def _quantity(kind: Any) -> Quantity | None:
    if get_origin(kind) is Annotated:
        return next((one for one in get_args(kind) if isinstance(one, Quantity)), None)
    if get_origin(kind) in (Union, UnionType):
        return next((found for one in get_args(kind) if (found := _quantity(one)) is not None), None)
    return None


# --- from stimuli to steps --------------------------------------------------------------------------------------------


def steps_of(agenda: Sequence[Due]) -> tuple[m.AnyStep, ...]:
    """The steps that give these stimuli.  What a search lets go of is let go of in its step."""
    found: list[m.AnyStep] = []
    faults: set[str] = set()
    for k, (at, given) in enumerate(agenda):
        rest = agenda[k + 1:]
        match given:
            case e.PressControl():
                held = _until(rest, at, e.ReleaseControl, command=given.command, origin=given.origin)
                found.append(m.GiveCommand(do="command", at=at, command=given.command, origin=given.origin,
                                           held=held or FOR_EVER))
            case e.EnterObstruction():
                found.append(m.Obstruct(
                    do="obstruct", at=at, obstruction=given.obstruction, zone=given.zone, position=given.position,
                    stiffness=given.stiffness, touches=m.Touches.EDGE if given.edge else m.Touches.LEAF,
                    stays=_until(rest, at, e.LeaveObstruction, obstruction=given.obstruction)))
            case e.PressStrip():
                held = _until(rest, at, e.ReleaseStrip, device=given.device)
                found.append(m.PressEdge(do="press", at=at, edge=given.device, held=held or FOR_EVER))
            case e.InterruptBeam():
                lasts = _until(rest, at, e.ClearBeam, by=given.by, device=given.device)
                found.append(m.Interrupt(do="interrupt", at=at, beam=given.device, by=given.by, lasts=lasts))
            case e.LosePower():
                found.append(m.LosePower(do="lose power", at=at, lasts=_until(rest, at, e.ReturnPower) or FOR_EVER))
            case e.PushLeaf():
                found.append(m.PushLeaf(do="push leaf", at=at, direction=given.direction, distance=given.distance,
                                        speed=given.speed, by=given.by, leaf=_leaf(given.device)))
            case FaultBegins() if given.key not in faults:
                faults.add(given.key)
                found.append(m.Fault(do="fault", at=at, fault=given.fault.id, device=given.device,
                                     lasts=_until(rest, at, FaultEnds, key=given.key)))
            case _:  # what ends something stands in the step that begins it
                pass
    return tuple(found)


def _until(rest: Sequence[Due], since: int, kind: type, **same: Any) -> int | None:
    """How long (us) until the stimulus that ends it; None where none does."""
    for at, given in rest:
        if isinstance(given, kind) and all(getattr(given, name) == value for name, value in same.items()):
            return at - since
    return None


def _leaf(of: str) -> LeafName:
    return next(leaf for leaf in LeafName if leaf.of == of)
