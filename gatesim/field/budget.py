"""Reaction budgets: every delay on the way from a cause to the gate's reaction, summed at its worst.

Times are whole microseconds, each rounded up; lengths um.  The sums follow docs/timing.md and nothing here simulates.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from gatesim.events import Direction
from gatesim.field.air_time import greatest_delay
from gatesim.field.limits import Limits, said
from gatesim.plant.clocks import slowest
from gatesim.plant.dynamics import backlash_time, slowest_edge, weakest_stop
from gatesim.plant.edge_curve import given_at, points_of
from gatesim.plant.leaves import as_leaf, leaf_of_input, leaves
from gatesim.plant.loop_tables import StripKind
from gatesim.plant.site import Drive, Edge, Site, Transmitter, WiredInput, Zone
from gatesim.requirements.requirement import Limit
from gatesim.shown import fine_speed, mm

Node = Transmitter | WiredInput

BEGUN = "reversal begun"
FOUND = "lost link, found"
REACTED = "lost link, reacted"
FORCE = "force sensing"


BLIND_END = 25_400.0
"""A 1 in obstruction must still be felt at the end (um): 16 CFR 1211.7(b), 2002 edition, as analogue."""


@dataclass(frozen=True, slots=True)
class Line:
    """One delay of a budget and how it was made."""

    part: str
    us: int
    how: str


@dataclass(frozen=True, slots=True)
class Budget:
    """One way of reacting: device, zone, direction of motion, its delays, and the limit."""

    device: str
    zone: str
    direction: Direction
    case: str
    until: str
    """The event at which the sum ends."""
    lines: tuple[Line, ...]
    limit: int | None
    source: str

    @property
    def total(self) -> int:
        return sum(line.us for line in self.lines)

    @property
    def margin(self) -> int | None:
        return None if self.limit is None else self.limit - self.total

    @property
    def is_exceeded(self) -> bool:
        return self.limit is not None and self.total > self.limit


@dataclass(frozen=True, slots=True)
class Push:
    """Travel after the edge has actuated (um), at the highest speed in its zone, against the overtravel it has left.

    `first`: the first frame that says so is heard; `last`: only the last repeat is (equal on a wired input).
    """

    edge: str
    zone: str
    direction: Direction
    speed: float
    first: float
    last: float
    overtravel: float

    @property
    def margin_first(self) -> float:
        return self.overtravel - self.first

    @property
    def margin_last(self) -> float:
        return self.overtravel - self.last

    @property
    def is_exceeded(self) -> bool:
        return self.last > self.overtravel


@dataclass(frozen=True, slots=True)
class Blind:
    """Where the force sensing is declared blind in one direction (um), and for how long after a start (us)."""

    direction: Direction
    after_start_us: int
    after_start: float
    """Way that a start from rest makes in that time, at most."""
    at_end: float
    leaf: str = ""
    """Which leaf, where there are two."""

    @property
    def is_too_far(self) -> bool:
        """The end zone hides a 1 in obstruction.  The blind start has a stated time, which rules it."""
        return self.at_end >= BLIND_END


def against(limit: Limit | None) -> tuple[int | None, str]:
    """A budget's limit (us) and where it comes from."""
    return (None, "no limit stands here") if limit is None else (limit.value, said(limit.source))


def node_of(site: Site, edge: Edge) -> Node | None:
    """The transmitter or wired input that an edge hangs on, if the site has it."""
    nodes: tuple[Node, ...] = (*site.transmitters, *site.wired_inputs)
    return next((node for node in nodes if node.name == edge.input), None)


def stopping_distance(speed: float, delay: float, deceleration: float) -> float:
    """v t + v^2 / 2a (um)."""
    return speed * delay + speed * speed / (2 * deceleration)


def full_speed(drive: Drive, direction: Direction) -> float:
    return drive.speed_opening if direction is Direction.OPENING else drive.speed_closing


def highest_speed(site: Site, direction: Direction, start: float, end: float) -> float:
    """The highest speed (um/us) of a leaf that passes positions start to end: that of a whole stroke."""
    drive, travel = site.drive, site.gate.travel
    ways = [start, end] if direction is Direction.OPENING else [travel - start, travel - end]
    low, high = max(min(ways), 0.0), min(max(ways), travel)
    top, slow, up, down = full_speed(drive, direction), drive.slow_speed, drive.acceleration, drive.deceleration
    zone_at = travel - drive.slow_zone

    def speed(way: float) -> float:
        if way >= zone_at or top <= slow:
            return min(top, slow, math.sqrt(2 * up * way))
        return min(top, math.sqrt(2 * up * way), math.sqrt(slow * slow + 2 * down * (zone_at - way)))

    meet = (slow * slow + 2 * down * max(zone_at, 0.0)) / (2 * (up + down))
    places = [low, high, meet, top * top / (2 * up), zone_at]
    return max(speed(way) for way in places if low <= way <= high)


def detection(node: Node, samples: int) -> tuple[Line, ...]:
    """From a change at the loop to the controller's image, the first frame heard."""
    period = slowest(node.sampling, node.clock) if isinstance(node, Transmitter) else node.sampling
    scan = Line("scan", period, "just missed: one sampling period")
    debounce = Line("debounce", (samples - 1) * period, f"{samples} equal samples: {samples - 1} more periods")
    if isinstance(node, WiredInput):
        return (scan, debounce, Line("frame", 0, "wired input: none"))
    return (scan, debounce, Line("frame", greatest_delay(node), "latency + spread"))


def repeats(node: Node) -> int:
    """What is lost when all frames of a change but the last are lost (us)."""
    return (node.event_repeats - 1) * node.event_spacing if isinstance(node, Transmitter) else 0


def _repeats(node: Node) -> Line:
    if isinstance(node, WiredInput):
        return Line("repeats", 0, "wired input: none")
    return Line("repeats", repeats(node), f"all but the last of {node.event_repeats} frames lost")


def _up(value: float) -> int:
    """Whole microseconds, rounded up; what is within 1 ns of a whole one is that one."""
    return math.ceil(value - 1e-3)


def stop_line(site: Site, speed: float) -> Line:
    """From the order's end to the leaf at rest, from a speed (um/us)."""
    drive = site.drive
    stop = drive.stopping_delay + speed / weakest_stop(site)
    return Line("stopping", _up(stop), f"delay + v/a from {fine_speed(speed)}")


def reversal(site: Site, speed: float) -> tuple[Line, ...]:
    """From the controller's image to the reversal begun, from a speed (um/us)."""
    drive, controller = site.drive, site.controller
    return (
        Line("controller", 0, "acts in the same instant"),
        stop_line(site, speed),
        Line("reversal dwell", controller.reversal_dwell, "at standstill"),
        Line("start delay", drive.start_delay, "to reversal begun"),
        *_backlash(drive),
    )


def _backlash(drive: Drive) -> tuple[Line, ...]:
    """What a motor needs for its lost travel when it turns."""
    if drive.motor is None or drive.motor.backlash <= 0:
        return ()
    slowest = min(drive.speed_opening, drive.speed_closing, drive.slow_speed)
    return (Line("backlash", _up(backlash_time(drive.motor.backlash, drive, slowest)), "taken up by the drive alone"),)


def _approaches(site: Site, way: float, top: float, wait: int) -> tuple[str, float, float]:
    """The slowest of three approaches to an obstruction: (how, time to go `way`, speed when the stop order comes)."""
    drive = site.drive
    slow = min(drive.slow_speed, top) * slowest_edge(site)
    up = drive.acceleration
    reached = min(math.sqrt(2 * up * way), top)
    from_rest = reached / up + (way - reached * reached / (2 * up)) / top
    tries = [
        ("at the highest speed", way / top, top),
        ("at the slow speed", way / slow, slow),
        ("started right before it", from_rest, min(top, reached + up * wait)),
    ]
    return max(tries, key=lambda one: one[1] + one[2] / weakest_stop(site))


def zone_speed(site: Site, zone: Zone, past: float) -> float:
    """Highest speed in a zone, and as far past its end as an edge gives way (um)."""
    if zone.direction is Direction.OPENING:
        return highest_speed(site, zone.direction, zone.start, zone.end + past)
    return highest_speed(site, zone.direction, max(0.0, zone.start - past), zone.end)


def press_budget(site: Site, zone: Zone, edge: Edge, node: Node, limits: Limits) -> Budget:
    """From first touch to reversal begun, by the edge's path alone, the tolerated misses in a row included."""
    site = as_leaf(site, zone.leaf)
    lines = (*detection(node, node.debounce), _repeats(node))
    top = zone_speed(site, zone, edge.actuating_travel + edge.overtravel)
    wait = sum(line.us for line in lines) + site.drive.stopping_delay
    how, time, speed = _approaches(site, edge.actuating_travel, top, wait)
    first = Line("actuating travel", _up(time), f"from first touch, {how}")
    return Budget(edge.name, zone.name, zone.direction, "press", BEGUN, (first, *lines, *reversal(site, speed)),
                  *against(limits.edge))


def open_budget(site: Site, zone: Zone, edge: Edge, node: Node, limits: Limits) -> Budget:
    """A wire that comes off while the gate moves; where a press opens the loop it is taken for one."""
    site = as_leaf(site, zone.leaf)
    speed = highest_speed(site, zone.direction, 0.0, site.gate.travel)
    samples = node.debounce if edge.strip is StripKind.OPENS else node.fault_debounce
    lines = (*detection(node, samples), _repeats(node), *reversal(site, speed))
    return Budget(edge.name, zone.name, zone.direction, "wire off in motion", BEGUN, lines, *against(limits.fault))


def lost_link_budgets(site: Site, node: Transmitter, direction: Direction, back_guarded: bool,
                      limits: Limits) -> tuple[Budget, Budget]:
    """The radio path is cut while the gate moves: until it is found, T + D (a frame in flight survives), and until the
    gate has reacted.  The site has a receiver.
    """
    site = as_leaf(site, leaf_of_input(site, node.name))
    receiver, drive = site.receiver, site.drive
    assert receiver is not None
    speed = highest_speed(site, direction, 0.0, site.gate.travel)
    found = (
        Line("frame in flight", greatest_delay(node), "heard that long after the cut"),
        Line("watchdog", slowest(receiver.watchdog_in_motion, receiver.clock), "from the last frame heard, in motion"
             + (", by a slow clock" if receiver.clock is not None else "")),
    )
    until, reaction = BEGUN, reversal(site, speed)
    if not back_guarded:
        stop = _up(drive.stopping_delay + speed / weakest_stop(site))
        store = Line("store", max(0, site.controller.store_write - stop), "what the lockout's write lasts longer")
        until = "standstill, lockout stored"
        reaction = (reaction[0], Line("stopping", stop, "delay + v/a; no reversal, the way back is unguarded"), store)
    return (
        Budget(node.name, "", direction, FOUND, "link not fresh", found, *against(limits.lost_link)),
        Budget(node.name, "", direction, REACTED, until, (*found, *reaction), *against(limits.fault)),
    )


def push_of(site: Site, zone: Zone, edge: Edge, node: Node) -> Push:
    """Travel after actuation against overtravel."""
    site = as_leaf(site, zone.leaf)
    drive = site.drive
    speed = zone_speed(site, zone, edge.actuating_travel + edge.overtravel)
    wait = sum(line.us for line in detection(node, node.debounce)) + drive.stopping_delay
    first = stopping_distance(speed, wait, weakest_stop(site))
    last = stopping_distance(speed, wait + repeats(node), weakest_stop(site))
    return Push(edge.name, zone.name, zone.direction, speed, first, last, edge.overtravel)


def force_budget(site: Site, zone: Zone, edge: Edge | None, limits: Limits) -> Budget:
    """From first touch to reversal begun by the force sensing alone, outside its blind zones."""
    site = as_leaf(site, zone.leaf)
    drive = site.drive
    way = _deflection(site, edge)
    top = zone_speed(site, zone, 0.0 if edge is None else edge.actuating_travel + edge.overtravel)
    how, time, speed = _approaches(site, way, top, drive.force_dwell)
    lines = (Line("to the force limit", _up(time), f"{mm(way, 1)}, {how}"),
             Line("force dwell", drive.force_dwell, "the force must last that long"), *reversal(site, speed))
    where = "on the bare leaf" if edge is None else f"through edge {edge.name}"
    return Budget(FORCE, zone.name, zone.direction, where, BEGUN, lines, *against(limits.force))


def _deflection(site: Site, edge: Edge | None) -> float:
    """Deflection at which the contact force reaches the force limit (um): edge and measuring instrument, rigid
    obstruction."""
    limit, end = site.drive.force_limit, site.drive.end_stiffness
    gauge = limit / site.instrument_stiffness if site.instrument_stiffness else 0.0
    if edge is None:
        return limit / end + gauge
    points = points_of(edge)
    beyond = max(limit - points[-1][1], 0.0)
    return given_at(points, limit) + beyond / end + gauge


def blinds_of(site: Site) -> tuple[Blind, ...]:
    """The declared blind zones of each leaf in each direction."""
    found = leaves(site)
    if len(found) == 1:
        return tuple(blind_of(site, way) for way in Direction)
    return tuple(
        replace(blind_of(as_leaf(site, one.leaf), way), leaf=one.leaf.value) for one in found for way in Direction)


def blind_of(site: Site, direction: Direction) -> Blind:
    """The declared blind zones in one direction."""
    drive = site.drive
    top, up, time = full_speed(drive, direction), drive.acceleration, drive.blind_after_start
    ramp = top / up
    way = up * time * time / 2 if time <= ramp else top * top / (2 * up) + top * (time - ramp)
    return Blind(direction, time, min(way, site.gate.travel), drive.blind_at_end)
