"""Whether a site of two leaves agrees with itself: their tables, their order, and what belongs to which."""

from __future__ import annotations

from gatesim.events import Direction, LeafName
from gatesim.plant.dynamics import weakest_stop
from gatesim.plant.leaves import as_leaf, leaf_of_edge, leaves
from gatesim.plant.sequencer import run_out
from gatesim.plant.site import Drive, Gate, SecondLeaf, Site
from gatesim.scenario.complaints import Notes, length
from gatesim.scenario.strict import TreePath
from gatesim.units import clip


def gate_fits(gate: Gate, leaf_at: float, of: TreePath, notes: Notes) -> None:
    """Complain of a leaf under its path (`of`: of the table that holds it)."""
    path = (*of, "gate")
    notes.above_zero(gate, path, "travel", "mass")
    if gate.lightest is not None and not 0 < gate.lightest <= gate.mass:
        notes.error((*path, "lightest"), "the lightest leaf is zero or heavier than mass", "make it at most mass")
    if gate.heaviest is not None and gate.heaviest < gate.mass:
        notes.error((*path, "heaviest"), "the heaviest leaf is lighter than mass", "make it at least mass")
    if leaf_at > gate.travel:
        notes.error((*of, "leaf_at"), "the leaf stands beyond its travel", f"travel is {length(gate.travel)}")


def drive_fits(drive: Drive, travel: float, path: TreePath, notes: Notes) -> None:
    """Complain of a drive that moves a leaf of this travel (um)."""
    notes.above_zero(
        drive, path, "speed_opening", "speed_closing", "slow_speed", "acceleration", "deceleration",
        "stopping_deceleration", "coasting_deceleration", "stall_force", "force_limit", "limit_lead", "end_stiffness",
        "supply_capacity",
    )  # fmt: skip
    if drive.slow_speed > min(drive.speed_opening, drive.speed_closing):
        remedy = "it must not exceed speed_opening and speed_closing"
        notes.error((*path, "slow_speed"), "slow_speed is above a travel speed", remedy)
    if 2 * drive.slow_zone >= travel:
        remedy = f"travel is {length(travel)}; make slow_zone less than half of it"
        notes.error((*path, "slow_zone"), "the two slow zones leave no travel between them", remedy)
    if drive.force_limit > drive.stall_force:
        remedy = "set force_limit at or below stall_force"
        notes.error((*path, "force_limit"), "force_limit is above stall_force, so it can never be reached", remedy)
    if 2 * drive.limit_lead >= travel:
        notes.error((*path, "limit_lead"), "both limit switches would be closed at once", "make it shorter")
    if drive.blind_at_end > travel:
        notes.error((*path, "blind_at_end"), "the force sensing is blind for the whole travel", "make it shorter")


def check_leaves(site: Site, notes: Notes) -> None:
    """Complain of what does not fit about leaves; the second one's own tables are checked like the first one's."""
    for k, zone in enumerate(site.zones):
        if zone.leaf is LeafName.SECOND and site.second_leaf is None:
            remedy = "describe it under second_leaf, or leave leaf out"
            notes.error(("zones", k, "leaf"), "the site has no second leaf", remedy)
        if zone.hinge_side and zone.direction is Direction.CLOSING:
            remedy = "set direction to opening; what closes at the hinges closes while the leaf opens"
            notes.error(("zones", k, "direction"), f"hinge-side zone {clip(zone.name)} is declared closing", remedy)
    if site.second_leaf is None:
        return
    second, path = leaves(site)[1], ("second_leaf",)
    if site.second_leaf.gate is not None:
        gate_fits(second.gate, second.leaf_at, path, notes)
    elif second.leaf_at > second.gate.travel:
        remedy = f"travel is {length(second.gate.travel)}"
        notes.error((*path, "leaf_at"), "the leaf stands beyond its travel", remedy)
    if site.second_leaf.drive is not None:
        drive_fits(second.drive, second.gate.travel, (*path, "drive"), notes)
    _order(site, site.second_leaf, notes)
    _belongs(site, notes)


def _order(site: Site, table: SecondLeaf, notes: Notes) -> None:
    first, second = leaves(site)
    top, under = (first, second) if table.opens_first is LeafName.FIRST else (second, first)
    drive, path = top.drive, ("second_leaf", "overlap")
    if table.overlap >= top.gate.travel:
        remedy = f"that leaf's travel is {length(top.gate.travel)}"
        notes.error(path, "the overlap is as long as the travel of the leaf on top, or longer", remedy)
    elif drive.stopping_deceleration > 0 and (drive.motor is None or not notes.made):
        slowing = weakest_stop(as_leaf(site, top.leaf))
        needed = table.overlap + run_out(drive, max(drive.speed_closing, drive.slow_speed), slowing)
        if needed >= top.gate.travel - drive.limit_lead:
            remedy = f"its run-out from closing ends {length(round(needed))} from closed; shorten the overlap"
            notes.error(path, "the leaf on top can't wait before the overlap", remedy)
    if under.leaf_at > under.drive.limit_lead and top.leaf_at < table.overlap:
        at = ("leaf_at",) if under is first else ("second_leaf", "leaf_at")
        remedy = f"open the {top.leaf.value} leaf by {length(table.overlap)}, or close this one"
        notes.error(at, "the leaf underneath stands open while the other lies over it", remedy)


def _belongs(site: Site, notes: Notes) -> None:
    for k, sender in enumerate(site.transmitters):
        carried = {leaf_of_edge(site, edge.name) for edge in site.edges if edge.input == sender.name}
        if len(carried) > 1:
            remedy = "it rides on one leaf: give each leaf its own transmitter"
            notes.error(("transmitters", k), f"transmitter {clip(sender.name)} carries edges of both leaves", remedy)
    for leaf in LeafName:
        if not any(zone.leaf is leaf for zone in site.zones):
            remedy = "name the zones that it closes, or say why there are none in notes"
            notes.warn(("zones",), f"the {leaf.value} leaf has no entrapment zone", remedy)
