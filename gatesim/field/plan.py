"""The plan of a site: everything the gate technician takes to the gate, as one value.

`plan(site)` is a pure function.  `Plan.gaps` lists, in words, every means that is missing, every budget that is
exceeded and every set of figures that do not agree; `Plan.missing` counts them.  A command that prints a plan exits
with 1 when `missing` is not 0.  What has no limit is not judged and says so; it is never counted as in order.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from typing import Any

from gatesim.events import Direction
from gatesim.field.battery_life import Battery, Drain
from gatesim.field.beams import Separation, beam_budget, separation
from gatesim.field.budget import (
    FOUND,
    Blind,
    Budget,
    Push,
    blinds_of,
    force_budget,
    lost_link_budgets,
    node_of,
    open_budget,
    press_budget,
    push_of,
)
from gatesim.field.commissioning import Step, sheet
from gatesim.field.dark import Dark, SupplyPlan, supply_plan
from gatesim.field.fixing import GENERAL, Fixing, fixing_of
from gatesim.field.limits import Limits, limits_of
from gatesim.field.loops import LoopPlan, loop_of
from gatesim.field.means import WayBack, ZonePlan, back_guarded_without, edges_of, ways_back, zone_plan
from gatesim.field.overtravel import Overtravel, overtravels
from gatesim.field.radio import Moves, RadioPlan, moves_of, radio_of
from gatesim.plant.leaves import as_leaf
from gatesim.plant.nets import host_of, members
from gatesim.plant.site import Profile, Site
from gatesim.shown import mm

FORMAT = "gatesim-plan/1"

CAUTIONS = (
    "Every supply off and proved off before any work: mains, solar and battery.",
    "Automatic closing off. Leaf secured against hand, wind and slope.",
    "Power off again before anything is fixed to the leaf or a wire is touched.",
    "Stand clear of the whole travel. Never a person, or any part of one, as obstruction.",
    "Local codes, the authority having jurisdiction and licensed practice come first, before anything here.",
    "This plan is calculated from the site file. It is no statement of conformity and replaces no measurement.",
    ("Figures: the site file; published ones with their clause beside them; clauses for garage doors are analogues. "
    "'From memory', 'common practice' and 'ours' say what has no source read."),
)

RESIDUAL = (
    ("Not shown by any figure here, only by a press test or never: end resistor at the wrong end, inputs or "
    "transmitters "
    "swapped, an edge frozen stiff or torn loose with its loop whole, an obstruction beyond the edge's length."),
)


@dataclass(frozen=True, slots=True)
class Plan:
    """All parts of the plan, in the order in which they are printed."""

    site: str
    profile: Profile
    notes: str
    cautions: tuple[str, ...]
    zones: tuple[ZonePlan, ...]
    ways_back: tuple[WayBack, ...]
    separations: tuple[Separation, ...]
    blind: tuple[Blind, ...]
    budgets: tuple[Budget, ...]
    pushes: tuple[Push, ...]
    overtravels: tuple[Overtravel, ...]
    loops: tuple[LoopPlan, ...]
    radios: tuple[RadioPlan, ...]
    supply: SupplyPlan | None
    """The operator's own battery; None: mains."""
    fixing_cautions: tuple[str, ...]
    fixings: tuple[Fixing, ...]
    steps: tuple[Step, ...]
    residual: tuple[str, ...]
    remarks: tuple[str, ...]
    """What the technician must settle but no figure decides."""
    gaps: tuple[str, ...]

    @property
    def missing(self) -> int:
        """How much is missing, exceeded or does not agree."""
        return len(self.gaps)


def plan(site: Site, limits: Limits | None = None, moves: Moves | None = None) -> Plan:
    """The plan of a site.  `limits`: what budgets are summed against (by default those of its requirements);
    `moves`: what charge and air time are summed over (by default the site's `use`).

    Raises BadUsage for more moves than fit into an hour or a day, or a channel without length or pitch.
    """
    limits, moves = limits or limits_of(site), moves or moves_of(site)
    zones = tuple(zone_plan(site, zone) for zone in site.zones)
    budgets, links, pushes = _edge_budgets(site, limits), _links(site, limits), _pushes(site)
    paired = site.receiver.pairs if site.receiver is not None else ()
    radios = tuple(
        radio_of(site, node, moves, _found(links, node.name), limits)
        for node in site.transmitters if node.name in paired)
    beams = [beam_budget(site, beam, limits) for beam in site.beams]
    budgets = (*budgets, *links, *beams, *_forces(site, limits))
    loops = tuple(loop_of(edge, members(site, host_of(edge))) for edge in site.edges)
    made = Plan(
        site.name, site.limits, site.notes, CAUTIONS, zones, ways_back(site),
        tuple(separation(site, beam) for beam in site.beams),
        blinds_of(site), budgets, pushes, overtravels(site),
        loops, radios, supply_plan(site, moves.in_a_day),
        GENERAL, tuple(fixing_of(edge) for edge in site.edges),
        sheet(site, zones, loops, budgets, limits), RESIDUAL, tuple(_remarks(site)), ())
    return dataclasses.replace(made, gaps=tuple(_gaps(made)))


def _edge_budgets(site: Site, limits: Limits) -> tuple[Budget, ...]:
    made: list[Budget] = []
    for zone in site.zones:
        for edge in site.edges:
            node = node_of(site, edge)
            if edge.zone == zone.name and node is not None:
                made.append(press_budget(site, zone, edge, node, limits))
                made.append(open_budget(site, zone, edge, node, limits))
    return tuple(made)


def _pushes(site: Site) -> tuple[Push, ...]:
    return tuple(push_of(site, zone, edge, node) for zone in site.zones for edge in site.edges
                 if edge.zone == zone.name and (node := node_of(site, edge)) is not None)


def _links(site: Site, limits: Limits) -> tuple[Budget, ...]:
    made: list[Budget] = []
    if site.receiver is None:
        return ()
    inputs = {edge.name: edge.input for edge in site.edges}
    for node in site.transmitters:
        for direction in Direction:
            if any(inputs[name] == node.name for name in edges_of(site, direction)):
                guarded = back_guarded_without(site, direction, node.name)
                made += lost_link_budgets(site, node, direction, guarded, limits)
    return tuple(made)


def _found(links: tuple[Budget, ...], transmitter: str) -> tuple[Budget, ...]:
    return tuple(one for one in links if one.device == transmitter and one.case == FOUND)


def _forces(site: Site, limits: Limits) -> tuple[Budget, ...]:
    made: list[Budget] = []
    for zone in site.zones:
        drive = as_leaf(site, zone.leaf).drive
        if zone.force_sensing and drive.force_limit <= drive.stall_force:
            made.append(force_budget(site, zone, None, limits))
            made += [force_budget(site, zone, edge, limits) for edge in site.edges if edge.zone == zone.name]
    return tuple(made)


def _remarks(site: Site) -> Iterator[str]:
    yield from _two_leaves(site)
    for direction in Direction:
        if not any(zone.direction is direction for zone in site.zones):
            yield f"No entrapment zone is stated for {direction.value}: look for one at the gate before believing it."
    zones = {zone.name for zone in site.zones}
    for edge in site.edges:
        if edge.zone not in zones:
            yield f"Edge {edge.name} stands in zone {edge.zone}, which the site does not have."
        elif node_of(site, edge) is None:
            yield f"Edge {edge.name} hangs on {edge.input}, which the site does not have."
    if site.receiver is not None:
        for node in site.transmitters:
            if node.name not in site.receiver.pairs:
                yield f"Transmitter {node.name} is not paired."
    if site.drive.motor is not None:
        yield ("The motion follows from motor and loads: stopping is calculated with the least deceleration that the "
               "brake gives anywhere; where the motor is weaker than the stated acceleration, it takes longer from a "
               "start to first actuation than stated here.")
    for override in site.limit_overrides:
        yield f"Limit of {override.requirement} set by the site: {override.limit} ({override.source})."


def _two_leaves(site: Site) -> Iterator[str]:
    second = site.second_leaf
    if second is None:
        return
    top = second.opens_first.value
    yield (f"Two leaves: the {top} leaf lies on top, opens first and closes last. The other one waits "
           f"{second.opening_delay / 1000:.0f} ms while opening, and until the {top} leaf is "
           f"{second.overlap / 1000:.0f} mm open; closing, the {top} leaf waits {second.closing_delay / 1000:.0f} ms.")
    yield "A demand or fault of either leaf stops both; a leaf that turns back on the way waits for nobody."
    yield "The controller's distances count both leaves' ways together: the clear opening."


def _gaps(made: Plan) -> Iterator[str]:
    for zone in made.zones:
        if zone.missing:
            yield f"zone {zone.zone}, {zone.direction.value}: {zone.missing} of {zone.needed} means MISSING"
    for budget in made.budgets:
        if budget.is_exceeded:
            yield (f"{budget.device}, {budget.direction.value}, {budget.case}: {budget.total / 1000:.1f} ms, limit "
                   f"{(budget.limit or 0) / 1000:.1f} ms")
    for one in made.overtravels:
        if one.is_exceeded:
            yield (f"edge {one.edge}, {one.direction.value}, {one.stretch}: {mm(one.moved, 1)} of travel after "
                   f"actuation at the worst, the edge gives {mm(one.give, 1)}")
    for blind in made.blind:
        if blind.is_too_far:
            whose = f"force sensing of the {blind.leaf} leaf" if blind.leaf else "force sensing"
            yield (f"{whose}, {blind.direction.value}: blind for {mm(blind.at_end, 1)} at the end, "
                   "must be less "
                   f"than {mm(25_400, 1)}")
    yield from (f"edge {loop.edge}: {said}" for loop in made.loops for said in loop.troubles)
    yield from (f"transmitter {radio.transmitter}: {said}" for radio in made.radios for said in radio.troubles)
    if made.supply is not None:
        yield from (f"operator's battery: {said}" for said in made.supply.troubles)
    yield from (f"channel of {one.edge}: {said}" for one in made.fixings for said in one.cautions)


def as_json(made: Plan) -> dict[str, Any]:
    """The plan as plain values for `json.dumps`: us, um, ohm, uA as in `gatesim.units`; enums as their words."""
    return {"format": FORMAT, **_plain(made), "missing": made.missing}


_DERIVED = {
    Budget: ("total", "margin", "is_exceeded"),
    Push: ("margin_first", "margin_last", "is_exceeded"),
    Overtravel: ("moved", "margin", "is_exceeded"),
    Blind: ("is_too_far",),
    Separation: ("time", "is_met"),
    ZonePlan: ("kinds",),
    Drain: ("frames", "total", "items"),
    Battery: ("years", "years_without_self_discharge", "lead_days"),
    Dark: ("balance",),
}


def _plain(value: Any) -> Any:
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, tuple) and hasattr(value, "_asdict"):
        return {name: _plain(one) for name, one in value._asdict().items()}
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        made = {field.name: _plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
        return made | {name: _plain(getattr(value, name)) for name in _DERIVED.get(type(value), ())}
    # JSON has no infinity (a cell without load lasts for ever).
    return None if isinstance(value, float) and value in (float("inf"), float("-inf")) else value
