"""What an edge can still give after actuation, and what the gate still moves: the trade's rule, every tolerance at its
worst.

From site data alone; the speed comes from whoever asks (a run, or the plan of a whole stroke).  Lengths in um, times
in us, forces in mN.  v t + v^2 / 2a is docs/timing.md, section 2.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from gatesim.events import Direction, LeafName
from gatesim.plant.dynamics import dynamics_of, weakest_stop
from gatesim.plant.edge_curve import given_at, points_of
from gatesim.plant.leaves import as_leaf
from gatesim.plant.site import Edge, Site, Transmitter, WiredInput, Zone
from gatesim.requirements.force_level import CRUSH_GAP, FREE, peak_limit

_SAID = 1_000.0
"""mm and N of um and mN."""


class Wait(NamedTuple):
    """One delay between the edge's actuation and the brake, and how it is made."""

    part: str
    us: int
    how: str


class Stretch(NamedTuple):
    """Part of a zone under one force limit: where the leaf is while the edge gives, and what the edge can still give
    there after actuation (um; below 0 where it actuates too late)."""

    what: str
    low: float
    high: float
    give: float
    until: str
    """What ends the giving."""


class Reach(NamedTuple):
    """One edge: the delays after its actuation, the brake, and its stretches."""

    edge: str
    zone: str
    direction: Direction
    waits: tuple[Wait, ...]
    deceleration: float
    """Of the heaviest leaf (um/us^2)."""
    braked: str
    stretches: tuple[Stretch, ...]
    leaf: LeafName = LeafName.FIRST

    @property
    def wait(self) -> int:
        """All delays together (us)."""
        return sum(wait.us for wait in self.waits)

    def braking(self, speed: float) -> float:
        """Stopping distance from a speed (um/us), without the delays (um)."""
        return speed * speed / (2 * self.deceleration)

    def moved(self, speed: float) -> float:
        """What the gate still moves after actuation (um)."""
        return speed * self.wait + self.braking(speed)


def reaches_of(site: Site) -> Iterator[Reach]:
    """Every edge whose zone and input the site has, in the order of the site."""
    nodes: dict[str, Transmitter | WiredInput] = {node.name: node for node in site.transmitters}
    nodes.update({node.name: node for node in site.wired_inputs})
    for edge in site.edges:
        for zone in site.zones:
            if zone.name == edge.zone and edge.input in nodes:
                yield _reach(site, edge, zone, nodes[edge.input])


def _reach(site: Site, edge: Edge, zone: Zone, node: Transmitter | WiredInput) -> Reach:
    site = as_leaf(site, zone.leaf)
    gate, drive = site.gate, site.drive
    leaf = max(gate.mass, gate.heaviest or 0.0)
    forces = dynamics_of(site)
    rotor = drive.reflected_mass if forces is None else forces.rotor
    heaviest = leaf + rotor
    return Reach(edge.name, zone.name, zone.direction, tuple(_waits(site, node)),
                 weakest_stop(site, leaf), f"v2/2a, {heaviest:.0f} kg moving at the most",
                 tuple(_stretches(site, edge, zone)), zone.leaf)


def _waits(site: Site, node: Transmitter | WiredInput) -> Iterator[Wait]:
    more = node.debounce - 1
    yield Wait("scan", node.sampling, "just missed: one sampling period")
    yield Wait("debounce", more * node.sampling, f"{node.debounce} equal samples: {more} more periods")
    if isinstance(node, Transmitter):
        yield Wait("latency", node.latency, "from sending to hearing")
        yield Wait("spread", node.latency_spread, "the latest frame")
        lost = node.event_repeats - 1
        yield Wait("repeats", lost * node.event_spacing, f"all but the last of {node.event_repeats} frames lost")
    yield Wait("controller", 0, "acts in the same instant")
    yield Wait("stopping delay", site.drive.stopping_delay, "from de-energised to slowing")


def _stretches(site: Site, edge: Edge, zone: Zone) -> Iterator[Stretch]:
    """The zone in one, or in two where its force limit depends on the gap that is left."""
    limit, travel = peak_limit(site), site.gate.travel
    if limit is None:
        yield _stretch(site, edge, zone, "whole zone", (zone.start, zone.end), None)
        return
    opens = zone.direction is Direction.OPENING
    border = travel - CRUSH_GAP if opens else float(CRUSH_GAP)
    below, above = (zone.start, min(zone.end, border)), (max(zone.start, border), zone.end)
    wide, narrow = (below, above) if opens else (above, below)
    for what, (low, high), force in (("gap of 500 mm and more", wide, max(limit, FREE)),
                                     ("gap below 500 mm", narrow, limit)):
        if low < high:
            yield _stretch(site, edge, zone, what, (low, high), force)


def _stretch(site: Site, edge: Edge, zone: Zone, what: str, part: tuple[float, float], force: int | None) -> Stretch:
    """One part of a zone, as far past its end as the edge gives way."""
    points = points_of(edge, edge.force_tolerance)
    end, most = points[-1]
    if force is None or force >= most:
        deep, until = end, f"to its end, {most / _SAID:.0f} N at the stiffest"
    else:
        deep, until = given_at(points, force), f"to the limit of {force / _SAID:.0f} N at the stiffest"
    late = edge.actuating_travel * (1 + edge.travel_tolerance)
    until += f"; actuated after {late / _SAID:.1f} mm at the latest"
    low, high = part
    if zone.direction is Direction.OPENING:
        high = min(high + end, site.gate.travel)
    else:
        low = max(low - end, 0.0)
    return Stretch(what, low, high, deep - late, until)
