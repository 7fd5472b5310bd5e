"""Which independent, monitored means protect each entrapment zone, and what guards the way back.

A monitored beam counts as a means of its own kind, beside an edge or the force sensing: common practice, no source; an
article on the revision of January 2016 (trade magazine, Nov-Dec 2015, p. 77) asks for two of different types, and names
external ones; type B1 as the word for sensors without contact is from memory of UL 325.  Where one means is enough, the
force has to be proved, which no beam does: there a beam counts only where it stands far enough away (`beams.py`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from gatesim import shown
from gatesim.events import Direction, LeafName
from gatesim.field.beams import separation, unseen
from gatesim.field.budget import Node, blind_of, node_of
from gatesim.plant.leaves import as_leaf, leaf_of_edge, leaves, leaves_of_beam
from gatesim.plant.site import Beam, LearnsMotion, Monitoring, Profile, Site, Transmitter, Zone, guarded

EDGE = "monitored edge"
BEAM = "presence beam"
FORCE = "inherent force sensing"


@dataclass(frozen=True, slots=True)
class Means:
    """One device at one zone; `counts` says whether it is a means there, `why_not` why it is none."""

    kind: str
    device: str
    through: str
    """The transmitter or wired input; "" for the force sensing."""
    monitoring: str
    counts: bool = True
    why_not: str = ""


@dataclass(frozen=True, slots=True)
class ZonePlan:
    """An entrapment zone: its means, and how many of different kinds are missing."""

    zone: str
    direction: Direction
    start: float
    end: float
    means: tuple[Means, ...]
    needed: int
    missing: int
    uncovered: tuple[str, ...]
    """Parts of the zone in which a declared blind zone leaves only the other means (residual risk)."""

    @property
    def kinds(self) -> tuple[str, ...]:
        """Kinds of means that count."""
        return tuple(kind for kind in (EDGE, BEAM, FORCE) if any(one.counts and one.kind == kind for one in self.means))


@dataclass(frozen=True, slots=True)
class WayBack:
    """What guards the reversal that follows a stop in `moving`."""

    moving: Direction
    back: Direction
    edges: tuple[str, ...]
    force: bool
    """No edge or beam guards the way back: it goes under force sensing alone."""
    shared: tuple[tuple[str, tuple[str, ...]], ...]
    """(transmitter or receiver, its edges of both directions): lost, it takes both ways' edges at once."""
    beams: tuple[str, ...] = ()


def zone_plan(site: Site, zone: Zone) -> ZonePlan:
    """The means of one zone.  Two edges, or two beams, are one kind: the second means must be of a different kind."""
    means = [_edge_means(site, edge.name, edge.input) for edge in site.edges if edge.zone == zone.name]
    means += [_beam_means(site, zone, beam) for beam in site.beams if zone.name in beam.zones]
    if zone.force_sensing:
        means.append(_force_means(site, zone))
    needed = 2 if site.limits is Profile.TWO_MEANS else 1
    made = ZonePlan(zone.name, zone.direction, zone.start, zone.end, tuple(means), needed, 0, _uncovered(site, zone))
    return replace(made, missing=max(0, needed - len(made.kinds)))


def _edge_means(site: Site, name: str, node_name: str) -> Means:
    nodes: tuple[Node, ...] = (*site.transmitters, *site.wired_inputs)
    node = next((one for one in nodes if one.name == node_name), None)
    if node is None:
        return Means(EDGE, name, node_name, "", False, f"the site has no transmitter or wired input {node_name}")
    said = node.monitoring.value
    if isinstance(node, Transmitter):
        if site.receiver is None or node.name not in site.receiver.pairs:
            return Means(EDGE, name, node_name, said, False, f"{node_name} is not paired")
        if node.monitoring is Monitoring.CONTINUOUSLY:
            said += " (not asked before a move: a greatest age is its only test)"
        if node.learns_motion is LearnsMotion.FELT:
            said += ", feels the motion itself"
    return Means(EDGE, name, node_name, said)


def _beam_means(site: Site, zone: Zone, beam: Beam) -> Means:
    said = f"test pulse {beam.monitoring.value}; "
    sum_of = separation(site, beam)
    said += "keeps S from the leaf" if sum_of.is_met else "presence detection, not judged by S"
    if unseen(beam, zone.start, zone.end) >= zone.end - zone.start:
        return Means(BEAM, beam.name, "", said, False, "its ray does not run along the zone")
    if site.limits is Profile.PROVED_FORCE and not sum_of.is_met:
        why = "it stands nearer to the leaf than S, and where one means is enough it would have to prove the force"
        return Means(BEAM, beam.name, "", said, False, why)
    return Means(BEAM, beam.name, "", said)


def _force_means(site: Site, zone: Zone) -> Means:
    site = as_leaf(site, zone.leaf)
    drive, travel = site.drive, site.gate.travel
    said = "self-tested before each move"
    if drive.force_limit > drive.stall_force:
        return Means(FORCE, "operator", "", said, False, "force limit above the force at which the drive stalls")
    blind = blind_of(site, zone.direction)
    opens = zone.direction is Direction.OPENING
    at_end = zone.start >= travel - blind.at_end if opens else zone.end <= blind.at_end
    at_start = zone.end <= blind.after_start if opens else zone.start >= travel - blind.after_start
    if at_end or at_start:
        where = "at the end stop" if at_end else "after a start"
        return Means(FORCE, "operator", "", said, False, f"the whole zone lies in its declared blind zone {where}")
    return Means(FORCE, "operator", "", said)


def _uncovered(site: Site, zone: Zone) -> tuple[str, ...]:
    past = [(beam.name, unseen(beam, zone.start, zone.end)) for beam in site.beams if zone.name in beam.zones]
    rays = tuple(f"{name} does not see {shown.mm(left)} of the zone" for name, left in past if left > 0)
    return (*rays, *_blind(site, zone))


def _blind(site: Site, zone: Zone) -> tuple[str, ...]:
    if not zone.force_sensing:
        return ()
    site = as_leaf(site, zone.leaf)
    blind = blind_of(site, zone.direction)
    said = [(f"force sensing blind for {blind.after_start_us / 1000:.0f} ms after each start, also after a reversal "
            f"(up to {shown.mm(blind.after_start)} of travel)")] if blind.after_start_us else []
    opens = zone.direction is Direction.OPENING
    near = zone.end > site.gate.travel - blind.at_end if opens else zone.start < blind.at_end
    if near and blind.at_end:
        said.append(f"force sensing blind in the last {shown.mm(blind.at_end, 1)} before the end stop")
    return tuple(said)


def ways_back(site: Site) -> tuple[WayBack, ...]:
    """For a stop while closing and while opening."""
    return tuple(_way_back(site, moving) for moving in (Direction.CLOSING, Direction.OPENING))


def edges_of(site: Site, direction: Direction) -> tuple[str, ...]:
    """Edges whose zone closes in this direction and whose input the site has, in site order."""
    zones = {zone.name: zone for zone in site.zones}
    return tuple(edge.name for edge in site.edges
                 if edge.zone in zones and zones[edge.zone].direction is direction and node_of(site, edge) is not None)


def beams_of(site: Site, direction: Direction, leaf: LeafName | None = None) -> tuple[str, ...]:
    """Beams that guard this direction (of one leaf), in site order."""
    return tuple(beam.name for beam in site.beams
                 if guarded(site, beam) is direction and (leaf is None or leaf in leaves_of_beam(site, beam)))


def back_guarded_without(site: Site, moving: Direction, device: str) -> bool:
    """Whether the way back is guarded when this transmitter is silent: by an edge or beam left, or, with neither, by
    force.

    Of two leaves each needs its own guard.
    """
    inputs = {edge.name: edge.input for edge in site.edges}
    for one in leaves(site):
        if beams_of(site, moving.other, one.leaf):
            continue
        back = [name for name in edges_of(site, moving.other) if leaf_of_edge(site, name) is one.leaf]
        if back and all(inputs[name] == device for name in back):
            return False
    return True


def _way_back(site: Site, moving: Direction) -> WayBack:
    back, ahead = edges_of(site, moving.other), edges_of(site, moving)
    # What no transmitter carries is left on the way back of a leaf that has a beam there.
    bare = [one.leaf for one in leaves(site) if not beams_of(site, moving.other, one.leaf)]
    left = [name for name in back if leaf_of_edge(site, name) in bare]
    inputs = {edge.name: edge.input for edge in site.edges}
    shared = []
    nodes: tuple[Node, ...] = (*site.transmitters, *site.wired_inputs)
    for node in nodes:
        both = [name for name in (*ahead, *back) if inputs[name] == node.name]
        if any(name in ahead for name in both) and any(name in left for name in both):
            shared.append((node.name, tuple(both)))
    radio = {node.name for node in site.transmitters}
    by_radio = [name for name in (*ahead, *back) if inputs[name] in radio]
    wired = {leaf_of_edge(site, name) for name in left if name not in by_radio}
    if any(leaf_of_edge(site, name) not in wired for name in left) and any(name in by_radio for name in ahead):
        shared.append(("the receiver", tuple(by_radio)))
    beams = beams_of(site, moving.other)
    return WayBack(moving, moving.other, back, not back and not beams, tuple(shared), beams)
