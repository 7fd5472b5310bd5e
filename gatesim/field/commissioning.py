"""The commissioning sheet: what is tried, in a safe order, what should come of it, and what a wrong result points to.

The order is common practice, no source: every supply off and proved off first, automatic closing last, a test piece or
rigid block for every obstruction and never a person.  It is our sheet for this site and no standard's test procedure.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from gatesim.events import Direction
from gatesim.field import beams
from gatesim.field.air import link_plan
from gatesim.field.air_time import greatest_delay
from gatesim.field.budget import BEGUN, FORCE, REACTED, Budget, Node, detection, node_of, repeats, stopping_distance
from gatesim.field.limits import Limits, said
from gatesim.field.loops import LoopPlan
from gatesim.field.means import ZonePlan, beams_of, edges_of
from gatesim.plant.clocks import slowest
from gatesim.plant.dynamics import weakest_stop
from gatesim.plant.leaves import as_leaf, leaves
from gatesim.plant.loop_tables import StripKind
from gatesim.plant.site import Edge, Site, Transmitter, Zone, guarded
from gatesim.shown import mm, position


@dataclass(frozen=True, slots=True)
class Step:
    """One row of the sheet; the reading, the initials and the date are filled in at the gate."""

    number: int
    group: str
    device: str
    do: str
    expect: str
    points_to: str
    """What a wrong result points to; "" where nothing is read."""


class Row(NamedTuple):
    """A step before it has its number and group."""

    device: str
    do: str
    expect: str
    points_to: str


class Fitted(NamedTuple):
    """An edge where it is and what it hangs on."""

    edge: Edge
    zone: Zone
    node: Node


def sheet(
    site: Site, zones: tuple[ZonePlan, ...], loops: tuple[LoopPlan, ...], budgets: tuple[Budget, ...], limits: Limits
) -> tuple[Step, ...]:
    """All steps of a site, numbered in the order in which they are safe."""
    fitted = [Fitted(edge, zone, node) for edge in site.edges for zone in site.zones
              if edge.zone == zone.name and (node := node_of(site, edge)) is not None]
    readings = {loop.edge: loop for loop in loops}
    rays = [(beam, next(one for one in budgets if (one.device, one.case) == (beam.name, beams.INTERRUPTED)))
            for beam in site.beams]
    groups: tuple[tuple[str, list[Row]], ...] = (
        ("A. Every supply off", list(_off())),
        ("B. Readings, every supply off", [row for one in fitted for row in _readings(readings[one.edge.name])]),
        ("C. Supervision, leaf at rest", [
            *(row for one in fitted for row in _at_rest(site, one)),
            *(Row(*said) for beam, _ in rays for said in beams.at_rest(site, beam)),
        ]),
        ("D. Hold-to-run, in view, zones clear", [*_hold(site, limits), *_two_leaves(site), *_levels(site)]),
        ("E. Edges in motion, test piece", [
            *(row for one in fitted for row in _in_motion(site, one, budgets)),
            *(Row(*said) for beam, budget in rays
              for said in beams.in_motion(site, beam, budget, _distance(site, guarded(site, beam)))),
        ]),
        ("F. Rigid block", [row for zone in zones for row in _block(site, zone, budgets)]),
        ("G. Lockout and reset", list(_lockout(site))),
        ("H. Automatic closing, last", list(_last(site))),
    )
    rows = [(group, row) for group, rows in groups for row in rows]
    return tuple(Step(number, group, *row) for number, (group, row) in enumerate(rows, 1))


def time_said(us: float) -> str:
    """A time in whole milliseconds rounded up, or in seconds where it is whole ones or from 10 s on."""
    if us >= 10_000_000 or us % 1_000_000 == 0:
        return f"{us / 1e6:.1f} s".replace(".0 s", " s")
    return f"{math.ceil(us / 1000)} ms"


def _off() -> Iterator[Row]:
    yield Row(
        "supplies",
        "Switch off and lock off every supply: mains, solar, battery. Prove each off with a meter that was just "
        "proved "
        "on a live source.",
        "0 V at each",
        "a second supply; a solar panel that still feeds",
    )
    yield Row("controls", "Automatic closing off. Keep people and their portable transmitters away.", "off", "setting")
    yield Row("leaf", "Secure the leaf against hand, wind and slope.", "it cannot move", "leaf without stops or "
                                                                                         "brake")
    yield Row(
        "leaf",
        "Walk the travel: stops at both ends, guides sound, every edge at the zone the plan gives it.",
        "as in the plan",
        "the site file is not this gate: correct it, and plan anew",
    )


def _readings(loop: LoopPlan) -> Iterator[Row]:
    name = loop.edge
    yield Row(
        name,
        "Both leads off the input. Meter across them, edge at rest.",
        f"{loop.at_rest:.1f} ohm (band {loop.band_low:.0f} to {loop.band_high:.0f})",
        "high: joint, corrosion; low: moisture, crushed strip; else: wrong or second end resistor",
    )
    yield Row(
        name,
        "Press near the wire end, in the middle, near the far end; watch the meter.",
        f"above {loop.band_high:.0f} ohm (no reading) at all three" if loop.opens else
        f"at most about {loop.pressed:.1f} ohm at all three",
        "the strip stays closed; a leak across the lead" if loop.opens else
        "near the wire end only: end resistor at the wrong end, strip broken; thousands of ohm: worn strip",
    )
    yield Row(name, "Release.", f"back to {loop.at_rest:.1f} ohm", "strip sticks; channel bent; face not flat")
    yield Row(
        name,
        "Wire off: one lead off the meter.",
        f"above {loop.open_above:.0f} ohm (no reading)",
        "meter range; a hand across the leads",
    )
    if loop.without is not None:
        yield Row(
            name,
            f"This edge's wire off where it joins {' and '.join(loop.shares)}; meter across the loop. Then on again.",
            f"{loop.without:.1f} ohm, above the band",
            "in the band: the band is too wide, and a broken wire would never be found",
        )
    yield Row(
        name,
        "Wire shorted: meter leads joined at the edge's leads.",
        f"{loop.shorted:.0f} ohm, and the meter's own leads",
        "meter leads; dirty ends",
    )


def _heard(node: Node, samples: int) -> str:
    return time_said(sum(line.us for line in detection(node, samples)) + repeats(node))


def _at_rest(site: Site, fitted: Fitted) -> Iterator[Row]:
    name, way, node = fitted.edge.name, fitted.zone.direction.value, fitted.node
    press, fault = _heard(node, node.debounce), _heard(node, node.fault_debounce)
    yield Row(
        name,
        "Leads on, power on, automatic closing off, stand clear of the travel. Press the edge.",
        f"reported pressed, for {way} and no other, within {press}",
        "other direction: edges or inputs swapped; nothing: band, strip, pairing",
    )
    yield Row(name, "Release.", f"reported at rest within {press}", "strip sticks; band too near the reading at rest")
    yield Row(
        name,
        f"Hold the edge pressed with a wedge, step away, give the command for {way}.",
        "start refused, this edge named; the leaf does not move",
        f"the edge does not guard {way}: stop, do not go on",
    )
    lasting = f"pressed; a fault after {time_said(site.controller.press_limit)}"
    opens = fitted.edge.strip is StripKind.OPENS
    off = lasting if opens else f"open loop, within {fault} of the first scan"
    short = f"reading invalid, within {fault} of the first scan" if opens else lasting
    yield Row(
        name,
        "Power off, proved off. Wedge out. Wire off: one lead off. Power on.",
        f"{off}; {way} refused; stays until reset",
        "this input is not monitored",
    )
    yield Row(
        name,
        "Power off, proved off. Wire shorted: both leads joined. Power on.",
        f"{short}; {way} refused; stays until reset",
        "short read as rest: band; bridge at the input",
    )
    if isinstance(node, Transmitter) and site.receiver is not None:
        yield _silent(site, node, name, way, slowest(site.receiver.watchdog_at_rest, site.receiver.clock))
    yield Row(
        name,
        "Power off, proved off. Leads as they belong. Power on, reset at the gate.",
        "in order; the leaf does not move",
        "a fault still there; the leaf moves on reset: stop, do not go on",
    )


def _silent(site: Site, node: Transmitter, name: str, way: str, watchdog: int) -> Row:
    late = time_said(watchdog + greatest_delay(node))
    back = time_said(site.controller.recovery_time)
    return Row(
        name,
        f"Transmitter silent: cell out of {node.name}, leaf at rest. Then cell in, press every edge on it.",
        f"link lost within {late}; {way} refused; counts again after the press and {back} of good reports",
        "another transmitter answers for it; watchdog setting",
    )


def _hold(site: Site, limits: Limits) -> Iterator[Row]:
    stop = max(stopping_distance(one.drive.slow_speed, one.drive.stopping_delay, weakest_stop(as_leaf(site, one.leaf)))
               for one in leaves(site))
    most = "no limit stands here"
    if limits.hold is not None:
        whole = limits.hold.value
        most = f"limit {mm(whole)}, {mm(whole / 2)} in the last {mm(500_000)} ({said(limits.hold.source)})"
    yield Row("leaf", "Power off, proved off. Free the leaf. Power on, stand clear.", "the leaf does not "
                                                                                      "move", "power return")
    for way in Direction:
        yield Row(
            "hold-to-run",
            f"Hold to run, {way.value}, release in mid-travel; again near the end.",
            f"slow, stops about {mm(stop)} after release; {most}",
            "brake; stopping delay longer than stated; speed",
        )


def _two_leaves(site: Site) -> Iterator[Row]:
    second = site.second_leaf
    if second is None:
        return
    top = second.opens_first.value
    yield Row(
        "two leaves",
        "Open from closed, then close from open; watch which leaf starts.",
        f"opening: the {top} leaf first, the other {time_said(second.opening_delay)} later and not before the {top} "
        f"one is {second.overlap / 1000:.0f} mm open; closing: the other way round, {time_said(second.closing_delay)}",
        "order or delay set otherwise; leaves swapped at the operator",
    )
    yield Row(
        "two leaves",
        f"Opening from closed: stop while only the {top} leaf has moved, then close. Closing: stop before the other "
        "leaf is closed, then open.",
        "the leaf underneath is never off its closed end while the other lies over it",
        "overlap too short for the run-out; limit switch of the leaf underneath",
    )


def _stops(site: Site) -> str:
    return "stops" if site.second_leaf is None else "both leaves stop"


def _reverses(site: Site) -> str:
    return "stops and reverses" if site.second_leaf is None else "both leaves stop and reverse"


def _levels(site: Site) -> Iterator[Row]:
    """The calculated levels, to be held against measured ones."""
    for node in site.transmitters:
        if node.radio is None:
            continue
        link = link_plan(node.radio, site.gate.travel)
        places = {0.0: link.closed, link.worst.x: link.worst, site.gate.travel: link.open}
        said = ", ".join(f"{place.received:.0f} dBm at {position(x)}" for x, place in sorted(places.items()))
        yield Row(
            node.name,
            f"Hold to run to {', '.join(position(x) for x in sorted(places))}; at each read the level of its "
            "frames, if the receiver shows one; else count the check-ins that are missed.",
            f"about {said}; none missed where the margin is kept",
            "path: antenna, height, obstacles not in the site file; correct it, and plan anew",
        )


def _in_motion(site: Site, fitted: Fitted, budgets: tuple[Budget, ...]) -> Iterator[Row]:
    name, node, way = fitted.edge.name, fitted.node, fitted.zone.direction
    total = next(one.total for one in budgets if (one.device, one.case) == (name, "press"))
    yield Row(
        name,
        f"Run {way.value}. Touch the edge with a long soft test piece from outside the travel.",
        f"{_stops(site)}, reversal begun within {time_said(total)} of touch; {_distance(site, way)}",
        "late: debounce, frames lost; no reversal: way back unguarded",
    )
    yield Row(
        name,
        f"Run {way.other.value}. Touch the same edge the same way.",
        "reported pressed; the leaf finishes its move",
        "it stops or reverses: edges swapped",
    )
    for link in budgets:
        if (link.device, link.direction, link.case) != (node.name, way, REACTED):
            continue
        yield Row(
            name,
            f"Transmitter silent in motion: screen {node.name}, only from outside the travel. Run {way.value}. "
            "Then reset.",
            f"{link.until} within {time_said(link.total)} of the loss; {way.value} locked out until reset",
            "watchdog in motion; the transmitter does not know that the gate moves",
        )


def _distance(site: Site, moving: Direction) -> str:
    back = "goes back" if site.second_leaf is None else "both together go back"
    if moving is Direction.CLOSING:
        return f"{back} {mm(site.controller.reversal_distance)} or to the open end"
    return f"{back} {mm(site.controller.opening_relief)}, no farther"


def _block(site: Site, zone: ZonePlan, budgets: tuple[Budget, ...]) -> Iterator[Row]:
    way = zone.direction
    if any(edge.zone == zone.zone and edge.name in edges_of(site, way) for edge in site.edges):
        yield Row(
            zone.zone,
            f"Rigid block fixed in the path where the edge meets it. Run {way.value}. Never a person.",
            f"{_reverses(site)} on contact; {_distance(site, way)}",
            "block beyond the edge's length; see E",
        )
    alone = [one.total for one in budgets if (one.device, one.zone) == (FORCE, zone.zone)]
    if alone:
        yield Row(
            zone.zone,
            "Force sensing alone: block where the bare leaf meets it, beyond the edge's length, outside the blind "
            f"zones. No edge is bridged or taken off. Run {way.value}; where there is no such place, hold to run.",
            f"{BEGUN} within {time_said(max(alone))} of touch (hold to run: stops)",
            "force limit too high; blind zone longer than stated",
        )


def _lockout(site: Site) -> Iterator[Row]:
    alarm, window = time_said(site.controller.alarm_time), time_said(site.controller.reset_window)
    yield Row(
        "controller",
        "Meet the block twice before the interrupted move was once completed.",
        f"second time: stops, all locked out, alarm for {alarm} or until reset",
        "the count is cleared too early",
    )
    yield Row(
        "controller",
        "Locked out: try the portable transmitter; power off and on.",
        "nothing moves; lockout and alarm come back",
        "the lockout is not stored: stop, do not go on",
    )
    yield Row(
        "controller",
        f"Block away. Hold the reset longer than {window}; then press and release it within that time.",
        "held: nothing; pressed and released: clears, the leaf does not move",
        "reset from elsewhere or by a held button",
    )


def _last(site: Site) -> Iterator[Row]:
    controller = site.controller
    pause = controller.automatic_closing
    if pause is None:
        yield Row("automatic closing", "The site has none. Open by a fresh command, wait.", "it stays "
                                                                                            "open", "setting")
    else:
        ray = ", then interrupt a closing beam" if beams_of(site, Direction.CLOSING) else ""
        yield Row(
            "automatic closing",
            "Set it on. Zones clear, stand clear. Open by a fresh command.",
            f"{time_said(pause)} open, warning {time_said(controller.closing_warning)}, then closes",
            "pause or warning setting",
        )
        yield Row(
            "automatic closing",
            f"Press a closing edge{ray} in the pause. Later meet the block while it closes.",
            "the pause begins anew; after the block it stays cancelled until a fresh command",
            "it survives a demand: set it off",
        )
    yield Row("site", "Hand over: plan, sheet and site file stay with the gate; show the users.", "done", "")
