"""Whether a scenario fits its site and the catalogues it was read with: names, instants, expectations."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from typing import Any

from gatesim.events import LeafName
from gatesim.plant.site import Site
from gatesim.scenario.check_site import check_limit, names
from gatesim.scenario.complaints import duration, length
from gatesim.scenario.model import (
    Clear,
    ClearBeam,
    Expectation,
    Expected,
    Fault,
    GiveCommand,
    Interrupt,
    LosePower,
    NewCell,
    Obstruct,
    PressEdge,
    PushLeaf,
    Stands,
    Step,
)
from gatesim.scenario.shapes import offer
from gatesim.scenario.strict import TreePath
from gatesim.units import clip

LONGEST_RUN = 31 * 86_400_000_000
"""A scenario ends within 31 days."""
MOST_STIMULI = 1_000_000
"""Of all steps together, repeats counted."""

_TAG = re.compile(r"[a-z][a-z0-9_]*")

Say = Callable[[TreePath, str, str], None]


@dataclass(frozen=True)
class Catalogue:
    """What a scenario may name beyond its site.  Plain data, so the reader needs neither requirements nor faults."""

    requirement_ids: Mapping[str, Collection[str]]
    """Each requirement's id with the names of its failures."""
    fault_ids: Collection[str]
    measures: Mapping[str, str] | None = None
    """Each requirement's unit ("us", "um", "mN", "1"), or None: limits are not checked against it."""
    fault_places: Callable[[str, Site], Collection[str]] | None = None
    """The devices of a site where a fault kind can sit, or None: not checked."""
    cells: Collection[str] | None = None
    """The cells of the coverage matrix, or None: not checked."""


def check_scenario(found: Mapping[str, Any], site: Site | None, catalogue: Catalogue, say: Say) -> None:
    """Complain of all that does not fit in a scenario's stated fields; without a site, its names are not checked."""
    ends = found.get("ends")
    if ends is not None:
        if ends <= 0:
            say(("ends",), "the scenario ends at once", "give it a length, such as 60 s")
        elif ends > LONGEST_RUN:
            say(("ends",), f"{duration(ends)} is too long for a scenario", "at most 31 d")
    stimuli = 0
    for k, step in found.get("steps", {}).items():
        path = ("steps", k)
        _times(step, ends, path, say)
        _own_times(step, path, say)
        stimuli += step.times * (step.flickers if isinstance(step, Fault) else 1)
        if site is not None:
            _names(step, site, path, say)
        if isinstance(step, Fault):
            _fault(step, site, catalogue, path, say)
    if stimuli > MOST_STIMULI:
        say(("steps",), f"the steps come {stimuli} times in all", f"at most {MOST_STIMULI}")
    _cleared(found, say)
    _expectations(found.get("expect", {}), catalogue, say)
    for k, cell in found.get("covers", {}).items():
        if catalogue.cells is not None and cell not in catalogue.cells:
            say(("covers", k), f"the matrix has no cell {clip(cell)}", offer(cell, catalogue.cells))
    for k, tag in found.get("tags", {}).items():
        if not _TAG.fullmatch(tag):
            say(("tags", k), f"{clip(tag)} is no tag", "small letters, digits and _, such as slow_radio")


def _times(step: Step, ends: int | None, path: TreePath, say: Say) -> None:
    if step.every is not None and step.times < 2:
        say((*path, "every"), "a repeated step needs times", "say how many times in all, such as times: 10")
    if step.every is None and step.times > 1:
        say((*path, "times"), "a repeated step needs every", "say the period, such as every: 60 s")
    if step.every == 0:
        say((*path, "every"), "every is zero", "it must be above zero")
    last = step.at + (step.every or 0) * (step.times - 1)
    if ends is not None and ends > 0 and step.at > ends:
        say((*path, "at"), f"the step comes after the end, {duration(ends)}", "move it, or set ends later")
    elif ends is not None and ends > 0 and last > ends:
        remedy = "fewer times, or set ends later"
        say((*path, "times"), f"the last repeat comes at {duration(last)}, after the end, {duration(ends)}", remedy)


def _own_times(step: Step, path: TreePath, say: Say) -> None:
    """What lasts must last, and end before it comes again."""
    for name in ("held", "lasts", "gap", "stays"):
        span = getattr(step, name, None)
        if span == 0:
            say((*path, name), f"{name} is zero", "it must be above zero")
    span = getattr(step, "held", None) or getattr(step, "lasts", None)
    if isinstance(step, Fault):
        if step.gap is not None and step.lasts is None:
            say((*path, "gap"), "a flickering fault needs lasts", "say how long it is there each time")
        if step.gap is not None and step.flickers < 2:
            say((*path, "gap"), "a gap needs flickers", "say how many times it comes, such as flickers: 5")
        if step.gap is None and step.flickers > 1:
            say((*path, "flickers"), "a flickering fault needs gap", "say how long it is away each time")
        if step.every is not None and step.lasts is None:
            say((*path, "every"), "a repeated fault needs lasts", "one that stays can't begin again")
        if span is not None:
            span = span * step.flickers + (step.gap or 0) * (step.flickers - 1)
    ends_by_itself = isinstance(step, (GiveCommand, PressEdge, LosePower, Fault, Interrupt))
    if ends_by_itself and step.every and span and span >= step.every:
        say((*path, "every"), "the step comes again before it has ended", f"make it longer than {duration(span)}")


def _known(name: str, legal: list[str], what: str, path: TreePath, say: Say) -> bool:
    if name in legal:
        return True
    say(path, f"the site has no {what} named {clip(name)}", offer(name, legal))
    return False


def _interrupts(step: Obstruct, site: Site, path: TreePath, say: Say) -> None:
    """An obstruction stands in a ray only where the ray runs."""
    for k, name in enumerate(step.interrupts):
        where = (*path, "interrupts", k)
        if _known(name, names(site.beams), "beam", where, say):
            beam = next(beam for beam in site.beams if beam.name == name)
            if not beam.start <= step.position <= beam.end:
                remedy = f"its ray runs from {length(beam.start)} to {length(beam.end)}; move the obstruction, or take "
                say(where, f"the obstruction does not stand in {clip(name)}", remedy + "an interrupt step")


def _names(step: Step, site: Site, path: TreePath, say: Say) -> None:
    if isinstance(step, Obstruct):
        _interrupts(step, site, path, say)
    if isinstance(step, Obstruct) and _known(step.zone, names(site.zones), "zone", (*path, "zone"), say):
        zone = next(zone for zone in site.zones if zone.name == step.zone)
        if not zone.start <= step.position <= zone.end:
            remedy = f"it reaches from {length(zone.start)} to {length(zone.end)}"
            say((*path, "position"), f"the position lies outside zone {clip(zone.name)}", remedy)
        if step.stiffness == 0:
            say((*path, "stiffness"), "an obstruction without stiffness is none", "leave it out for a rigid one")
        _stands(step, path, say)
    elif isinstance(step, (Interrupt, ClearBeam)):
        _known(step.beam, names(site.beams), "beam", (*path, "beam"), say)
    elif isinstance(step, PressEdge):
        _known(step.edge, names(site.edges), "edge", (*path, "edge"), say)
    elif isinstance(step, NewCell):
        _known(step.transmitter, names(site.transmitters), "transmitter", (*path, "transmitter"), say)
    elif isinstance(step, PushLeaf):
        if step.leaf is LeafName.SECOND and site.second_leaf is None:
            say((*path, "leaf"), "the site has no second leaf", "leave leaf out")
        for name in ("distance", "speed"):
            if getattr(step, name) <= 0:
                say((*path, name), f"{name} is zero", "it must be above zero")


def _stands(step: Obstruct, path: TreePath, say: Say) -> None:
    """A free obstruction has a mass, one that stands fast needs none."""
    free = step.stands is Stands.FREE
    if free and not step.mass:
        where = path if step.mass is None else (*path, "mass")
        say(where, "a free obstruction without mass is none", "give its mass, such as mass: 20 kg")
    if not free and step.mass is not None:
        say((*path, "mass"), "the mass of an obstruction that stands fast changes nothing",
            "write stands: free, or take the mass out")


def _fault(step: Fault, site: Site | None, catalogue: Catalogue, path: TreePath, say: Say) -> None:
    if step.fault not in catalogue.fault_ids:
        say((*path, "fault"), f"no fault kind is named {clip(step.fault)}", offer(step.fault, catalogue.fault_ids))
        return
    if site is None or catalogue.fault_places is None:
        return
    places = list(catalogue.fault_places(step.fault, site))
    if step.device not in places:
        where = (*path, "device") if step.device else path
        said = f"{clip(step.fault)} can't sit at {clip(step.device)}" if step.device else "this fault needs a device"
        remedy = offer(step.device, places) if places else "this site has no place for it"
        say(where, said, remedy)


def _cleared(found: Mapping[str, Any], say: Say) -> None:
    """What is cleared must have come before; unknown while some step could not be read."""
    steps: Mapping[int, Step] = found.get("steps", {})
    if found.get("steps_broken"):
        return
    first: dict[str, int] = {}
    for step in steps.values():
        if isinstance(step, Obstruct):
            first[step.obstruction] = min(step.at, first.get(step.obstruction, step.at))
    for k, step in steps.items():
        if not isinstance(step, Clear):
            continue
        path = ("steps", k, "obstruction")
        if step.obstruction not in first:
            say(path, f"no step brings an obstruction {clip(step.obstruction)}", offer(step.obstruction, first))
        elif step.at < first[step.obstruction]:
            say(path, f"{clip(step.obstruction)} is cleared before it comes", "move the step")
    _beams_cleared(steps, say)


def _beams_cleared(steps: Mapping[int, Step], say: Say) -> None:
    first: dict[tuple[str, str], int] = {}
    for step in steps.values():
        pairs = [(step.beam, step.by)] if isinstance(step, Interrupt) else []
        pairs += [(beam, step.obstruction) for beam in step.interrupts] if isinstance(step, Obstruct) else []
        for pair in pairs:
            first[pair] = min(step.at, first.get(pair, step.at))
    for k, step in steps.items():
        if isinstance(step, ClearBeam):
            there = [by for beam, by in first if beam == step.beam]
            if step.by not in there:
                said = f"no step brings {clip(step.by)} into beam {clip(step.beam)}"
                say(("steps", k, "by"), said, offer(step.by, there) or "interrupt it first")
            elif step.at < first[step.beam, step.by]:
                say(("steps", k, "by"), f"{clip(step.by)} leaves before it comes", "move the step")


def _expectations(expect: Mapping[int, Expectation], catalogue: Catalogue, say: Say) -> None:
    seen: dict[str, int] = {}
    for k, one in expect.items():
        path: TreePath = ("expect", k)
        if one.requirement in seen:
            said = f"{clip(one.requirement)} is expected twice; first as entry {seen[one.requirement] + 1}"
            say((*path, "requirement"), said, "keep one of them")
        seen.setdefault(one.requirement, k)
        failures = catalogue.requirement_ids.get(one.requirement)
        if failures is None:
            said = f"no requirement is named {clip(one.requirement)}"
            say((*path, "requirement"), said, offer(one.requirement, catalogue.requirement_ids))
        if one.outcome is Expected.PASS and one.failure is not None:
            say((*path, "failure"), "an expected pass has no failure", "take it out, or write outcome: fail")
        if one.outcome is Expected.FAIL and one.failure is None:
            legal = offer("", failures or ())
            say(path, "an expected failure must be named", f"add failure; {legal}" if legal else "add failure")
        if one.failure is not None and failures is not None and one.failure not in failures:
            said = f"{clip(one.requirement)} has no failure {clip(one.failure)}"
            say((*path, "failure"), said, offer(one.failure, failures) or "it can't fail by name")
        if one.limit is not None:
            check_limit(one.limit, (*path, "limit"), say, (catalogue.measures or {}).get(one.requirement))
