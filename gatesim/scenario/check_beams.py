"""Whether the presence beams of a site agree with it: split from `check_site.py`, which calls this."""

from __future__ import annotations

from collections.abc import Callable

from gatesim.plant.leaves import as_leaf, leaves_of_beam
from gatesim.plant.site import Beam, Monitoring, Site
from gatesim.scenario.shapes import offer
from gatesim.scenario.strict import TreePath
from gatesim.units import Dimension, clip, format_quantity

Say = Callable[[TreePath, str, str], None]


def check_beams(site: Site, error: Say, warn: Say) -> None:
    """Complain of every beam that can't be."""
    for k, beam in enumerate(site.beams):
        path: TreePath = ("beams", k)
        for name in ("response_time", "test_pulse", "test_period", "detects"):
            if getattr(beam, name) <= 0:
                error((*path, name), f"{name} is zero", "it must be above zero")
        _zones(site, beam, path, error)
        _place(site, beam, path, error, warn)
        _test(site, beam, path, error)


def _zones(site: Site, beam: Beam, path: TreePath, error: Say) -> None:
    zones = {zone.name: zone.direction for zone in site.zones}
    if not beam.zones:
        error((*path, "zones"), "the beam guards no zone", "name at least one")
    for k, name in enumerate(beam.zones):
        if name not in zones:
            error((*path, "zones", k), f"no zone is named {clip(name)}", offer(name, zones))
        if name in beam.zones[:k]:
            error((*path, "zones", k), f"zone {clip(name)} stands here again", "name it once")
    if len({zones[name] for name in beam.zones if name in zones}) > 1:
        remedy = "a beam guards one direction of motion here; describe one for each, or leave zones out"
        error((*path, "zones"), "its zones close in both directions", remedy)


def _place(site: Site, beam: Beam, path: TreePath, error: Say, warn: Say) -> None:
    if beam.end < beam.start:
        error((*path, "end"), "the ray ends before it starts", "start counts from the closed stop")
    travel = max([as_leaf(site, leaf).gate.travel for leaf in leaves_of_beam(site, beam)], default=site.gate.travel)
    if beam.end > travel:
        error((*path, "end"), "the ray ends beyond the travel", f"travel is {_said(travel)}")
    for zone in site.zones:
        if zone.name in beam.zones and (beam.end < zone.start or beam.start > zone.end):
            remedy = f"the zone reaches from {_said(zone.start)} to {_said(zone.end)}"
            warn((*path, "start"), f"the ray does not run through zone {clip(zone.name)}", remedy)


def _test(site: Site, beam: Beam, path: TreePath, error: Say) -> None:
    """The test must show what it is for, and end in time."""
    if beam.test_pulse < beam.response_time:
        remedy = f"make it at least response_time, {_time(beam.response_time)}"
        error((*path, "test_pulse"), "the emitter is on again before the output could open", remedy)
    length = beam.test_pulse + beam.response_time
    if beam.monitoring is Monitoring.BEFORE_EACH_MOVE and length > site.controller.test_time:
        remedy = f"make controller.test_time at least {_time(length)} (test_pulse and response_time)"
        error((*path, "test_pulse"), "no test before a move could end in time", remedy)
    if beam.test_period < length:
        remedy = f"make it at least {_time(length)} (test_pulse and response_time)"
        error((*path, "test_period"), "a test would begin before the last one has ended", remedy)


def _said(value: float) -> str:
    return format_quantity(value, Dimension.LENGTH)


def _time(value: int) -> str:
    return format_quantity(value, Dimension.DURATION)
