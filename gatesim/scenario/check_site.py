"""Whether a site agrees with itself: each complaint with its place, the reason and a remedy.

An *error* is a site that can't exist or can't be simulated.  A *warning* is a setting that works badly; it must
stay readable, since a scenario may show it failing.  Figures here are ours unless a source stands beside them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

from gatesim.events import Direction
from gatesim.plant.leaves import as_leaf, delay_of, leaves
from gatesim.plant.site import Edge, Site, Transmitter, WiredInput
from gatesim.scenario.check_air import check_air, check_clock, check_watchdog
from gatesim.scenario.check_beams import check_beams
from gatesim.scenario.check_cells import check_cell, check_panel, check_supply
from gatesim.scenario.check_contact import contact
from gatesim.scenario.check_dynamics import check_dynamics
from gatesim.scenario.check_leaves import check_leaves, drive_fits, gate_fits
from gatesim.scenario.check_loops import check_loop
from gatesim.scenario.complaints import Complaint, Notes, Say, duration, length
from gatesim.scenario.shapes import offer
from gatesim.scenario.strict import TreePath
from gatesim.units import BadQuantity, Dimension, clip, parse_any

MOST_ENTRIES = 64
"""Of zones, edges, transmitters, wired inputs and beams, each."""
LONGEST_NAME = 60


def check_site(site: Site, requirement_ids: Mapping[str, object] | None = None) -> tuple[Complaint, ...]:
    """All complaints about a site, in the order of its file.  `requirement_ids`: those that limits may name, or all."""
    notes = Notes()
    _sizes(site, notes)
    _names(site, notes)
    gate_fits(site.gate, site.leaf_at, (), notes)
    drive_fits(site.drive, site.gate.travel, ("drive",), notes)
    check_dynamics(site, notes)
    if site.warmest is not None and site.warmest < site.coldest:
        notes.error(("warmest",), "warmest is below coldest", f"coldest is {site.coldest:g} degC")
    _zones(site, notes)
    check_leaves(site, notes)
    for k, edge in enumerate(site.edges):
        _edge(site, edge, ("edges", k), notes)
    for k, sender in enumerate(site.transmitters):
        _transmitter(sender, ("transmitters", k), notes)
        check_cell(sender.cell, ("transmitters", k, "cell"), site.coldest, notes.error)
        check_panel(sender.panel, ("transmitters", k, "panel"), notes.error)
        _converter(sender, ("transmitters", k), notes)
        check_air(site, sender, ("transmitters", k), notes.error, notes.warn)
    for k, wired in enumerate(site.wired_inputs):
        notes.above_zero(wired, ("wired_inputs", k), "sampling", "pull_up")
        _converter(wired, ("wired_inputs", k), notes)
    contact(site, notes)
    _receiver(site, notes)
    check_beams(site, notes.error, notes.warn)
    _controller(site, notes)
    check_supply(site, notes.error, notes.warn)
    _limits(site, requirement_ids, notes)
    return tuple(notes.made)


def warnings_of(site: Site) -> tuple[str, ...]:
    """The warnings about a site as sentences."""
    return tuple(f"{made.message}; {made.remedy}" for made in check_site(site) if made.warning)




def _sizes(site: Site, notes: Notes) -> None:
    for name in ("zones", "edges", "transmitters", "wired_inputs", "beams"):
        count = len(getattr(site, name))
        if count > MOST_ENTRIES:
            notes.error((name, MOST_ENTRIES), f"{name} has {count} entries", f"at most {MOST_ENTRIES}")
    if not site.zones:
        notes.error(("zones",), "the site has no entrapment zone", "name at least one, or there is nothing to guard")


def _names(site: Site, notes: Notes) -> None:
    """Names are unique where they are looked up; zones apart, since only edges and obstructions name them."""
    _unique([(("zones", k), zone.name) for k, zone in enumerate(site.zones)], "zone", notes)
    devices: list[tuple[TreePath, str]] = []
    for kind in ("edges", "transmitters", "wired_inputs", "beams"):
        devices += [((kind, k), entry.name) for k, entry in enumerate(getattr(site, kind))]
    _unique(devices, "device", notes)
    identities: dict[int, str] = {}
    for k, sender in enumerate(site.transmitters):
        other = identities.setdefault(sender.identity, sender.name)
        if other != sender.name:
            remedy = "give each transmitter its own number"
            notes.error(("transmitters", k, "identity"), f"identity {sender.identity} is {clip(other)} already", remedy)


def _unique(named: list[tuple[TreePath, str]], what: str, notes: Notes) -> None:
    counts: Counter[str] = Counter()
    for path, name in named:
        counts[name] += 1
        if counts[name] > 1:
            notes.error((*path, "name"), f"{what} name {clip(name)} stands here again", "names must differ")
        if "." in name or name != name.strip() or len(name) > LONGEST_NAME:
            remedy = f"no point in it (overrides use points), no blank at its ends, at most {LONGEST_NAME} characters"
            notes.error((*path, "name"), f"{clip(name)} can't be a name", remedy)


def _zones(site: Site, notes: Notes) -> None:
    for k, zone in enumerate(site.zones):
        if not zone.start < zone.end:
            notes.error(("zones", k, "end"), "the zone ends before it starts", "start counts from the closed stop")
        travel = as_leaf(site, zone.leaf).gate.travel
        if zone.end > travel:
            remedy = f"travel is {length(travel)}"
            notes.error(("zones", k, "end"), "the zone ends beyond the travel", remedy)
        guarded = zone.force_sensing or any(edge.zone == zone.name for edge in site.edges)
        if not guarded and not any(zone.name in beam.zones for beam in site.beams):
            remedy = "fit an edge or beam that names this zone, or count the force sensing"
            notes.warn(("zones", k), f"zone {clip(zone.name)} is guarded by nothing", remedy)


def inputs_of(site: Site) -> dict[str, Transmitter | WiredInput]:
    """What an edge can hang on, by name."""
    found: dict[str, Transmitter | WiredInput] = {sender.name: sender for sender in site.transmitters}
    found.update({wired.name: wired for wired in site.wired_inputs})
    return found


def _edge(site: Site, edge: Edge, path: TreePath, notes: Notes) -> None:
    zones = [zone.name for zone in site.zones]
    if edge.zone not in zones:
        notes.error((*path, "zone"), f"no zone is named {clip(edge.zone)}", offer(edge.zone, zones))
    inputs = inputs_of(site)
    if edge.input not in inputs:
        remedy = offer(edge.input, inputs) or "describe its transmitter or wired input"
        notes.error((*path, "input"), f"no transmitter or wired input is named {clip(edge.input)}", remedy)
    notes.above_zero(edge, path, "length", "termination", "actuating_travel", "overtravel", "greatest_pitch")
    if edge.actuating_force >= edge.full_force:
        remedy = "the force grows over the overtravel: make full_force larger"
        notes.error((*path, "full_force"), "full_force is not above actuating_force", remedy)
    if 2 * edge.end_distance > edge.length:
        notes.error((*path, "end_distance"), "the end holes lie beyond the channel's middle", "make it shorter")
    check_loop(site, edge, inputs, path, notes)


def _transmitter(sender: Transmitter, path: TreePath, notes: Notes) -> None:
    notes.above_zero(
        sender, path, "sampling", "checkin_at_rest", "checkin_in_motion", "air_time", "pull_up", "supervision_budget"
    )
    if sender.event_repeats > 1 and sender.event_spacing <= 0:
        notes.error((*path, "event_spacing"), "repeated frames have no spacing", "make it longer than air_time")
    if sender.checkin_jitter >= min(sender.checkin_at_rest, sender.checkin_in_motion):
        remedy = "make it shorter than both check-in periods"
        notes.error((*path, "checkin_jitter"), "a check-in could come later than the next one", remedy)
    if sender.burst_length < sender.air_time:
        notes.error((*path, "burst_length"), "the burst ends before the frame", "make it at least air_time")
    if sender.latency < sender.air_time:
        notes.error((*path, "latency"), "a frame would be heard before it ends", "latency includes air_time")
    if sender.loss >= 1:
        notes.error((*path, "loss"), "every frame is lost", "make it less than 100 %; a cut path is a fault step")
    if sender.event_repeats > 1 and 0 < sender.event_spacing < sender.air_time:
        notes.error((*path, "event_spacing"), "repeated frames overlap", "make it at least air_time")


def _converter(node: Transmitter | WiredInput, path: TreePath, notes: Notes) -> None:
    if node.spread is not None:
        notes.above_zero(node.spread, (*path, "spread"), "reference")


def _receiver(site: Site, notes: Notes) -> None:
    receiver, senders = site.receiver, {sender.name: sender for sender in site.transmitters}
    if receiver is None:
        if senders:
            notes.error(("receiver",), "there are transmitters and no receiver", "describe the receiver")
        return
    check_clock(receiver.clock, ("receiver", "clock"), notes.error)
    if receiver.clock is not None and receiver.clock.low_battery:
        remedy = "leave low_battery out"
        notes.error(("receiver", "clock", "low_battery"), "the receiver has no cell that could be low", remedy)
    for k, name in enumerate(receiver.pairs):
        if name not in senders:
            remedy = offer(name, senders) or "describe it under transmitters"
            notes.error(("receiver", "pairs", k), f"no transmitter is named {clip(name)}", remedy)
        if name in receiver.pairs[:k]:
            notes.error(("receiver", "pairs", k), f"{clip(name)} is paired twice", "name it once")
    for k, sender in enumerate(site.transmitters):
        if sender.name not in receiver.pairs:
            remedy = "list it under receiver, pairs (an unpaired one is shown by a fault step)"
            notes.error(("transmitters", k, "name"), f"transmitter {clip(sender.name)} is not paired", remedy)
        for state in ("at_rest", "in_motion"):
            check_watchdog(site, receiver, sender, state, notes.error, notes.warn)


def _controller(site: Site, notes: Notes) -> None:
    table, path = site.controller, ("controller",)
    notes.above_zero(
        table, path, "reversal_distance", "opening_relief", "test_time", "start_limit", "stop_limit",
        "travel_time_opening", "travel_time_closing", "press_limit", "reset_window", "alarm_time",
    )  # fmt: skip
    travel = sum(one.gate.travel for one in leaves(site))
    if table.reversal_distance > travel:
        notes.error((*path, "reversal_distance"), "it is longer than the travel", f"at most {length(travel)}")
    if table.start_limit <= site.drive.start_delay:
        remedy = f"make it longer than drive.start_delay, {duration(site.drive.start_delay)}"
        notes.warn((*path, "start_limit"), "every start counts as failed", remedy)
    for way in Direction:
        speeds = [(one, getattr(one.drive, f"speed_{way.value}")) for one in leaves(site)]
        needed = max(delay_of(site, one.leaf, way) + one.gate.travel / v if v > 0 else 0 for one, v in speeds)
        if getattr(table, f"travel_time_{way.value}") < needed:
            remedy = f"at least {duration(needed)}, and the time of the ramps"
            notes.warn((*path, f"travel_time_{way.value}"), "every full travel exceeds it", remedy)
    if table.automatic_closing is not None:
        _automatic_closing(site, notes)


def _automatic_closing(site: Site, notes: Notes) -> None:
    closing = [zone for zone in site.zones if zone.direction is Direction.CLOSING]
    guarded = {edge.zone for edge in site.edges} | {name for beam in site.beams for name in beam.zones}
    if not any(zone.force_sensing or zone.name in guarded for zone in closing):
        remedy = "guard a closing zone by an edge, a beam or the force sensing, or leave automatic_closing out"
        notes.error(("controller", "automatic_closing"), "nothing guards an automatic closing", remedy)
    if site.controller.closing_warning <= 0:
        remedy = "give a warning before the leaf moves by itself (16 CFR 1211.14(c)(2) has 5 s, as analogue)"
        notes.warn(("controller", "closing_warning"), "an automatic closing comes without warning", remedy)


def _limits(site: Site, requirement_ids: Mapping[str, object] | None, notes: Notes) -> None:
    named: set[str] = set()
    for k, limit in enumerate(site.limit_overrides):
        path: TreePath = ("limit_overrides", k)
        if requirement_ids is not None and limit.requirement not in requirement_ids:
            hint = offer(limit.requirement, requirement_ids)
            notes.error((*path, "requirement"), f"no requirement is named {clip(limit.requirement)}", hint)
        if limit.requirement in named:
            message = f"a limit for {clip(limit.requirement)} stands here again"
            notes.error((*path, "requirement"), message, "keep one of them")
        named.add(limit.requirement)
        check_limit(limit.limit, (*path, "limit"), notes.error)


def check_limit(text: str, path: TreePath, say: Say, measure: str | None = None) -> None:
    """Complain of a limit's text that is none, or not in the requirement's measure ("us", "um", "mN", "1")."""
    try:
        amount = parse_any(text)
    except BadQuantity as bad:
        say(path, bad.message, bad.hint)
        return
    unit = {Dimension.DURATION: "us", Dimension.LENGTH: "um", Dimension.FORCE: "mN", None: "1"}[amount.dimension]
    if measure is not None and unit != measure:
        due = {"us": "a duration, such as 1.5 s", "um": "a length, such as 50 mm", "mN": "a force, such as 400 N"}
        said = amount.dimension.value if amount.dimension else "plain count"
        wanted = due.get(measure, "a plain count, such as 2")
        say(path, f"{clip(text)} is a {said}", f"this requirement's limit is {wanted}")


def names(entries: Iterable[object]) -> list[str]:
    """The names of a list of the site's entries."""
    return [str(getattr(entry, "name", "")) for entry in entries]
