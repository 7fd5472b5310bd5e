"""The commissioning sheet: what is tried, in a safe order, what should come of it, and what a wrong result points to.

The order is common practice, no source: every supply off and proved off first, automatic closing last, a test piece or
rigid block for every obstruction and never a person.  It is our sheet for this site and no standard's test procedure.
"""

from __future__ import annotations

from dataclasses import dataclass

from gatesim.events import Direction
from gatesim.field.air_time import greatest_delay
from gatesim.field.budget import Budget, Limits, Node, detection, node_of, repeats, stopping_distance
from gatesim.field.loops import LoopPlan
from gatesim.field.means import ZonePlan, edges_of
from gatesim.plant.site import Edge, Site, Transmitter, Zone
from gatesim.units import Dimension, format_quantity


@dataclass(frozen=True, slots=True)
class Step:
    """One row of the sheet."""

    number: int
    group: str
    device: str
    do: str
    expect: str
    points_to: str
    """What a wrong result points to."""


Row = tuple[str, str, str, str]
"""Device, do, expect, points to."""


def sheet(site: Site, zones: tuple[ZonePlan, ...], loops: tuple[LoopPlan, ...], budgets: tuple[Budget, ...],
          limits: Limits) -> tuple[Step, ...]:
    """All steps of a site, numbered in the order in which they are safe."""
    pairs = [(edge, zone, node) for edge in site.edges for zone in site.zones
             if edge.zone == zone.name and (node := node_of(site, edge)) is not None]
    groups: list[tuple[str, list[Row]]] = [
        ("A. Power off", _off(site)),
        ("B. Readings, power off", [row for edge, _, _ in pairs for row in _readings(edge, loops)]),
        ("C. Supervision, leaf at rest", [row for one in pairs for row in _at_rest(site, *one)]),
        ("D. Hold-to-run, in view, zone clear", _hold(site, limits)),
        ("E. Edges in motion, test piece", [row for one in pairs for row in _in_motion(site, *one, budgets)]),
        ("F. Rigid block", [row for zone in zones for row in _block(site, zone, budgets)]),
        ("G. Lockout and reset", _lockout(site)),
        ("H. Last", _last(site)),
    ]
    rows = [(group, row) for group, rows in groups for row in rows]
    return tuple(Step(number, group, *row) for number, (group, row) in enumerate(rows, 1))


def _time(us: float) -> str:
    return format_quantity(int(us), Dimension.DURATION)


def _off(site: Site) -> list[Row]:
    return [
        ("supplies", "Switch off and lock off every supply: mains, solar, battery. Prove each one off with a meter that "
         "was itself just proved on a live source.", "0 V at each", "a second supply; a solar panel still feeding"),
        ("controls", "Set automatic closing off. Keep others and their portable transmitters away.", "off",
         "the setting is not where you looked"),
        ("leaf", "Secure the leaf against moving by hand, wind or slope.", "it cannot move", "leaf without stops or brake"),
        ("leaf", "Walk the travel with the leaf secured: stops at both ends, guides, nothing loose, edges at every zone "
         "of the plan.", "as in the plan", "the site file is not this gate"),
    ]


def _readings(edge: Edge, loops: tuple[LoopPlan, ...]) -> list[Row]:
    loop = next(one for one in loops if one.edge == edge.name)
    name = edge.name
    return [
        (name, "Take the edge's leads off its input. Meter across them, edge at rest.", f"{loop.at_rest:.0f} ohm "
         f"(in order {loop.band_low:.0f} to {loop.band_high:.0f})",
         "high: joint, corrosion; low: moisture, a crushed strip; other value: wrong or second end resistor"),
        (name, "Press at the wire end, in the middle and at the far end, watching the meter.",
         f"{loop.pressed:.1f} ohm at all three", "only near the wire end: end resistor at the wrong end or strip broken; "
         "thousands of ohm: worn strip"),
        (name, "Release.", f"back to {loop.at_rest:.0f} ohm", "strip sticks, channel bent or face not flat"),
        (name, "Meter with one lead off (wire off).", f"above {loop.open_above:.0f} ohm (no reading)",
         "a second path: moisture, wires swapped with another edge"),
        (name, "Meter with both leads joined (wire shorted).", f"{loop.shorted:.0f} ohm and your meter's own leads",
         "dirty leads; meter"),
    ]


def _at_rest(site: Site, edge: Edge, zone: Zone, node: Node) -> list[Row]:
    way, name, controller = zone.direction.value, edge.name, site.controller
    press, fault = (_heard(node, samples) for samples in (node.debounce, node.fault_debounce))
    rows = [
        (name, "Leads on. Power on, leaf held at rest, stand clear. Press the edge by hand.",
         f"reported pressed for {way}, for no other, within {_time(press)}; an automatic start {way} is refused",
         "other direction: edges or inputs swapped; nothing: not paired, band, strip"),
        (name, "Release.", f"reported at rest within {_time(press)}", "stuck strip; loop just inside the pressed band"),
        (name, f"Try to start {way} with the edge pressed by a wedge (not by hand).", "refused, edge named",
         "the edge does not guard this direction"),
        (name, "Power off and proved off; take one lead off; power on.",
         f"open loop within {_time(fault)} of the first report; start {way} refused; stays after the lead is back, until "
         "reset", "loop not monitored at this input"),
        (name, "Power off and proved off; lead on, both leads joined; power on.",
         f"pressed, and a fault after {_time(controller.press_limit)}; start {way} refused; stays until reset",
         "short taken for rest: band, bridged input"),
    ]
    if isinstance(node, Transmitter) and site.receiver is not None:
        late = site.receiver.watchdog_at_rest + greatest_delay(node)
        rows.append((name, f"Transmitter silent: take the cell of {node.name} out, leaf at rest.",
                     f"link lost within {_time(late)}; start {way} refused; with the cell back it counts again after "
                     f"{_time(controller.recovery_time)} of good reports; press every edge on it once",
                     "another transmitter answers under its number; watchdog setting"))
    rows.append((name, "Power off and proved off, leads as they belong; power on, reset at the gate.",
                 "in order; the leaf does not move", "a fault still present; reset moves the gate: stop, do not go on"))
    return rows


def _heard(node: Node, samples: int) -> int:
    return sum(line.us for line in detection(node, samples)) + repeats(node)


def _hold(site: Site, limits: Limits) -> list[Row]:
    drive = site.drive
    stop = stopping_distance(drive.slow_speed, drive.stopping_delay, drive.stopping_deceleration) / 1000
    rows = []
    for way in Direction:
        rows.append((
            "hold-to-run", f"Hold to run {way.value} at mid-travel, then release.",
            f"slow; stops within {limits.hold_stop / 1000:.0f} mm, {limits.hold_stop_last / 1000:.0f} mm in the last 500 mm "
            f"of the gap ({limits.hold_source}); this drive's figures give {stop:.0f} mm",
            "brake worn, stopping delay longer than stated, a portable transmitter that also runs it"))
    return rows


def _in_motion(site: Site, edge: Edge, zone: Zone, node: Node, budgets: tuple[Budget, ...]) -> list[Row]:
    name, way, back = edge.name, zone.direction, zone.direction.other
    total = next(one.total for one in budgets if one.device == name and one.case == "press")
    rows = [
        (name, f"Run {way.value}. Touch the edge with a long soft test piece from outside the leaf's path.",
         f"stops, then reverses: begun within {_time(total)}; {_distance(site, way)}",
         "late: debounce, frames lost; no reversal: way back not guarded"),
        (name, f"Run {back.value}. Touch the same edge the same way (it does not guard this direction).",
         "reported pressed; the leaf finishes its move", "stops or reverses: edges swapped"),
    ]
    if isinstance(node, Transmitter):
        link = next((one for one in budgets if one.device == node.name and one.direction is way), None)
        if link is not None:
            rows.append((name, f"Transmitter silent in motion: only where {node.name} can be screened or switched off from "
                         f"outside the leaf's path. Run {way.value}, nobody near.",
                         f"{link.until} within {_time(link.total)}; automatic motion {way.value} locked out",
                         "watchdog in motion; transmitter does not know that the gate moves"))
    return rows


def _distance(site: Site, moving: Direction) -> str:
    if moving is Direction.CLOSING:
        return f"goes back {site.controller.reversal_distance / 1000:.0f} mm or to the open end"
    return f"goes back {site.controller.opening_relief / 1000:.0f} mm only"


def _block(site: Site, zone: ZonePlan, budgets: tuple[Budget, ...]) -> list[Row]:
    way = zone.direction
    rows = []
    if edges_of(site, way):
        rows.append((zone.zone, f"Rigid block fixed in the path, where the edge meets it. Run {way.value}. Never a person.",
                     "stops and reverses on contact", "edge beyond the block's place; stopping distance; see E"))
    force = [one.total for one in budgets if one.device == "force sensing" and one.zone == zone.zone]
    if force:
        rows.append((zone.zone, "Force sensing alone: rigid block where the bare leaf meets it, beyond the edge's length. "
                     f"The edge is not bridged or taken off. Run {way.value}. If no such place exists: hold to run, slow.",
                     f"stops and reverses within {_time(max(force))} of contact, outside the declared blind zones (hold "
                     "to run: stops)", "force limit set too high, blind zone longer than stated"))
    return rows


def _lockout(site: Site) -> list[Row]:
    return [
        ("controller", "Block met twice before the interrupted move was once completed.",
         f"second time: stops, everything locked out, alarm for {_time(site.controller.alarm_time)} or until reset",
         "count cleared too early"),
        ("controller", "Locked out: try the portable transmitter, then power off and on.",
         "nothing moves; lockout and alarm come back", "lockout is not stored"),
        ("controller", f"Block away. Reset at the gate: press and release within {_time(site.controller.reset_window)}. Then "
         "once more with the button held.", "clears, the leaf does not move; held, it does nothing",
         "reset taken from elsewhere or from a held button"),
    ]


def _last(site: Site) -> list[Row]:
    rows: list[Row] = []
    pause = site.controller.automatic_closing
    if pause is not None:
        rows.append(("automatic closing", "Set automatic closing on. Open by a fresh command, zone clear, stand clear.",
                     f"{_time(pause)} at the open end, warning {_time(site.controller.closing_warning)}, then closes",
                     "pause or warning setting"))
        rows.append(("automatic closing", "Press a closing edge during the pause; then make a demand while it closes.",
                     "the pause begins anew; after the demand it stays cancelled until a fresh command",
                     "automatic closing survives a demand: set it off"))
    rows.append(("site", "Hand over: plan, sheet and site file kept with the gate; users shown hold-to-run and reset.",
                 "done", ""))
    return rows
