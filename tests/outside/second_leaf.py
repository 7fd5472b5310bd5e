"""Second simulator, part one: the clock, the moving leaf, what it touches, and the force sensing.

Written from docs/timing.md (sections 1 to 3) alone.  Lengths in um, times in us, speeds in um/us, forces in mN.
Directions and the names of happenings are plain words ("opening", "closing").
"""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass
from heapq import heappush
from math import inf, sqrt
from typing import Any

import simpy

# The order within one instant (docs/timing.md, section 1), as priorities of the event queue.
STIMULUS, DELIVER, HEAR, EXPIRE, LEAF, SCAN, SEND, FORCE, DECIDE, DRIVE = range(10, 20)

Process = Generator[simpy.Event, Any, None]
Say = Callable[[str, str], None]
SIGN = {"opening": 1, "closing": -1}
OTHER = {"opening": "closing", "closing": "opening"}


class Clock(simpy.Environment):
    """The event queue, with absolute times (so that whole instants stay whole) and the ranks above."""

    def at(self, when: float, rank: int) -> simpy.Event:
        event = simpy.Event(self)
        event._ok, event._value = True, None
        heappush(self._queue, (when, rank, next(self._eid), event))  # type: ignore[misc]
        return event

    def then(self, when: float, rank: int, do: Callable[[], None]) -> None:
        """Call `do` then."""
        event = self.at(when, rank)
        assert event.callbacks is not None
        event.callbacks.append(lambda _: do())


@dataclass(eq=False)
class Mark:
    """A position at which something switches as the leaf passes; on where x <= at (`below`) or x >= at."""

    at: float
    below: bool
    on: bool
    switch: Callable[[bool], None]


@dataclass
class Leg:
    """A stretch of constant acceleration, signed."""

    since: float
    until: float
    x: float
    v0: float
    v1: float

    @property
    def a(self) -> float:
        return 0.0 if self.v0 == self.v1 else (self.v1 - self.v0) / (self.until - self.since)

    def position(self, now: float) -> float:
        dt = now - self.since
        return self.x + self.v0 * dt + self.a * dt * dt / 2

    def speed(self, now: float) -> float:
        return self.v1 if now == self.until else self.v0 + self.a * (now - self.since)

    def reaches(self, place: float, sign: int) -> float:
        """When it comes to that place; never: inf."""
        way = (place - self.x) * sign
        if way <= 0:
            return self.since
        v, a = self.v0 * sign, self.a * sign
        under = v * v + 2 * a * way
        if under < 0 or v + sqrt(under) <= 0:
            return inf
        when = self.since + 2 * way / (v + sqrt(under))
        return when if when <= self.until else inf


class Contact:
    """An obstruction in a zone: force over deflection, and the marks it puts on the leaf's way (section 3)."""

    def __init__(self, leaf: Leaf, name: str, direction: str, position: float, k: float | None, edge: Any) -> None:
        drive = leaf.site.drive
        self.name, self.direction, self.edge, self.leaf = name, direction, edge, leaf
        soft = 0.0 if k is None else 1 / k
        self.k = drive.end_stiffness if k is None else drive.end_stiffness * k / (drive.end_stiffness + k)
        points = [(0.0, 0.0)]
        self.brought_up = drive.stall_force
        if edge is not None:
            self.brought_up = min(drive.stall_force, edge.full_force)
            points.append((edge.actuating_travel + edge.actuating_force * soft, edge.actuating_force))
            points.append((edge.actuating_travel + edge.overtravel + edge.full_force * soft, edge.full_force))
        self.points = points
        bend = self._along(self.brought_up)
        self.points = [p for p in points if p[1] < self.brought_up] + [(bend, self.brought_up)]
        here = leaf.position()
        sign = SIGN[direction]
        if (here - position) * sign >= 0:
            position = here
        touching = position == here
        self.position, below = position, sign < 0

        def mark(deflection: float, switch: Callable[[bool], None]) -> Mark:
            return Mark(position + sign * deflection, below, deflection == 0 and touching, switch)

        self.touched = mark(0.0, self._touch)
        self.pressing = mark(self.deflection(drive.force_limit), lambda on: leaf.force.reconsider())
        self.bringing = mark(bend, lambda on: leaf.bring_up(self) if on else None)
        self.marks = [self.touched, self.pressing, self.bringing]
        if edge is not None:
            self.actuating = mark(points[1][0], lambda on: leaf.strip(edge.name, name, on))
            self.marks.insert(1, self.actuating)
        if touching and leaf.going == direction:
            leaf.say("touch", name)

    def _touch(self, on: bool) -> None:
        self.leaf.say("touch" if on else "left", self.name)
        if on and self.leaf.by_hand:
            self.leaf.stand_here()

    def _along(self, force: float) -> float:
        """Deflection at a force, over the points given so far."""
        for (d0, f0), (d1, f1) in zip(self.points, self.points[1:], strict=False):
            if force <= f1:
                return d0 + (d1 - d0) * (force - f0) / (f1 - f0)
        d0, f0 = self.points[-1]
        return float(d0 + (force - f0) / self.k)

    deflection = _along

    def force(self, x: float) -> float:
        d = (x - self.position) * SIGN[self.direction]
        for (d0, f0), (d1, f1) in zip(self.points, self.points[1:], strict=False):
            if d <= d1:
                return max(0.0, f0 + (f1 - f0) * (d - d0) / (d1 - d0))
        d0, f0 = self.points[-1]
        return max(0.0, float(f0 + self.k * (d - d0)))


class ForceSensing:
    """The drive's inherent force sensing: dwell and declared blind zones."""

    def __init__(self, leaf: Leaf, changed: Callable[[], None]) -> None:
        self.leaf, self.changed = leaf, changed
        self.output: str | None = None
        self.ripe: float | None = None
        self.blind_until = -inf

    def leaf_started(self) -> None:
        drive = self.leaf.site.drive
        self.blind_until = self.leaf.env.now + drive.blind_after_start
        self.leaf.env.then(self.blind_until, FORCE, self.reconsider)

    def reconsider(self) -> None:
        leaf, now = self.leaf, self.leaf.env.now
        way = leaf.energised
        high = {c.direction for c in leaf.contacts.values() if c.pressing.on}
        counting = (
            way in high and leaf.pushes(way) and now >= self.blind_until and not leaf.near_end[way].on
            if way is not None
            else False
        )
        if not counting:
            self.ripe = None
        elif self.ripe is None:
            self.ripe = now + leaf.site.drive.force_dwell
            leaf.env.then(self.ripe, FORCE, self.reconsider)
        if self.output and (self.output not in high or leaf.going == OTHER[self.output]):
            self.output = None
            self.changed()
        if self.output is None and self.ripe is not None and now >= self.ripe:
            self.output = way
            leaf.say("force trip", way or "")
            self.changed()


class Leaf:
    """The leaf, its drive and end stops (section 2)."""

    def __init__(self, env: Clock, site: Any, say: Say, strip: Callable[[str, str, bool], None]) -> None:
        self.env, self.site, self.say, self.strip = env, site, say, strip
        self.changed: Callable[[], None] = lambda: None
        self.felt: list[Callable[[bool], None]] = []
        self.energised: str | None = None
        self.going: str | None = None
        self.brake_released = False
        self.slow = False
        self.brought = self.by_hand = False
        self.contacts: dict[str, Contact] = {}
        self.legs: list[Leg] = []
        self._rest(site.leaf_at)
        self.force = ForceSensing(self, lambda: self.changed())
        drive, travel, x = site.drive, site.gate.travel, site.leaf_at
        lead, blind = drive.limit_lead, drive.blind_at_end
        noted = self.force.reconsider
        self.stop = {
            "closing": Mark(0.0, True, x <= 0, lambda on: self._rest(0.0) if on else None),
            "opening": Mark(travel, False, x >= travel, lambda on: self._rest(travel) if on else None),
        }
        self.limit = {
            "closing": Mark(lead, True, x <= lead, lambda on: self._limit("limit closed", on)),
            "opening": Mark(travel - lead, False, x >= travel - lead, lambda on: self._limit("limit open", on)),
        }
        self.near_end = {
            "closing": Mark(blind, True, x <= blind, lambda on: noted()),
            "opening": Mark(travel - blind, False, x >= travel - blind, lambda on: noted()),
        }
        self.target: Mark | None = None
        self.process = env.process(self._run())

    # --- what others see -------------------------------------------------------------------------------------

    def position(self) -> float:
        leg = self.legs[0]
        return leg.position(self.env.now) if leg.v0 or leg.v1 else leg.x

    def speed(self) -> float:
        return self.legs[0].speed(self.env.now)

    def pushes(self, way: str) -> bool:
        """Energised that way and moving, or brought up."""
        blocked = any(c.bringing.on and c.direction == way for c in self.contacts.values())
        return self.energised == way and (self.going == way or (self.going is None and blocked))

    def watch(self, place: float, way: str) -> None:
        """The travel sensor tells when the leaf has come to that place."""
        self.target = Mark(place, way == "closing", False, lambda on: self.changed())
        self._again()

    # --- what others do --------------------------------------------------------------------------------------

    def drive(self, way: str | None, slow: bool, coast: bool = False) -> None:
        """Energise that way, or not at all; `coast`: the supply is gone and nothing holds the leaf."""
        before, self.energised, self.slow = self.energised, way, slow
        if way is None and (before is not None or coast):
            self._let_go(coast)
        elif way is not None and way != before:
            self._push(way)
        self.force.reconsider()
        self._again()

    def moved(self, way: str, distance: float, speed: float) -> None:
        """Moved by hand or wind, while the drive is not energised."""
        x, sign, a = self.position(), SIGN[way], 0.5e-6
        touching = any(c.touched.on and c.direction == way for c in self.contacts.values())
        if self.energised is not None or self.going is not None or self.stop[way].on or touching:
            return
        top = min(speed, sqrt(a * distance))
        ramp, cruise = top / a, (distance - top * top / a) / top
        legs = [(ramp, 0.0, sign * top), (cruise, sign * top, sign * top), (ramp, sign * top, 0.0)]
        self._lay([leg for leg in legs if leg[0] > 0], x)
        self.by_hand = True
        self._again()

    def release_brake(self, released: bool) -> None:
        self.brake_released = released
        if self.going is None:
            self._push_back()
        self._again()

    def obstruct(self, name: str, direction: str, position: float, k: float | None, edge: Any) -> None:
        self.contacts[name] = Contact(self, name, direction, position, k, edge)
        self._again()

    def clear(self, name: str) -> None:
        contact = self.contacts.pop(name, None)
        if contact is None:
            return
        if contact.edge is not None and contact.actuating.on:
            self.strip(contact.edge.name, name, False)
        if contact.touched.on:
            self.say("left", name)
        if contact.bringing.on and self.energised == contact.direction:
            self._push(contact.direction)
        self.force.reconsider()
        self._again()

    # --- plans -----------------------------------------------------------------------------------------------

    def _lay(self, speeds: list[tuple[float, float, float]], x: float) -> None:
        """Lay the legs (duration, speed at its start, at its end; signed), standstill after them."""
        now, self.legs = self.env.now, []
        for lasts, v0, v1 in speeds:
            self.legs.append(Leg(now, now + lasts, x, v0, v1))
            if lasts == inf:
                break
            now, x = now + lasts, x + (v0 + v1) / 2 * lasts
        else:
            self.legs.append(Leg(now, inf, x, 0.0, 0.0))
        self.brought = self.by_hand = False

    def _rest(self, x: float) -> None:
        self._lay([], x)

    def stand_here(self) -> None:
        self._rest(self.position())

    def _rests_at(self) -> float:
        """When the plan comes to standstill; inf: not planned."""
        return next((leg.since for leg in self.legs if leg.v0 == 0 and leg.v1 == 0), inf)

    def _ramp(self, way: str, x: float, v: float) -> list[tuple[float, float, float]]:
        """From that place and speed (>= 0, along the way) to the stop ahead."""
        d, sign = self.site.drive, SIGN[way]
        target: float = d.speed_opening if way == "opening" else d.speed_closing
        room = (self.site.gate.travel - x if sign > 0 else x) - d.slow_zone
        creep = min(target, d.slow_speed)
        needs = (creep * creep - v * v) / (2 * d.acceleration) if v < creep else 0.0
        if self.slow or target <= d.slow_speed or room <= needs:
            wanted = d.slow_speed if self.slow else creep
            rate = d.acceleration if v < wanted else d.deceleration
            plan = [(abs(wanted - v) / rate, v, wanted), (inf, wanted, wanted)]
        else:
            meet = sqrt((2 * room + v * v / d.acceleration + creep * creep / d.deceleration)
                        / (1 / d.acceleration + 1 / d.deceleration))
            peak = min(meet, target)
            rate = d.acceleration if v < peak else d.deceleration
            if meet <= v:
                plan = [((v - creep) / d.deceleration, v, creep), (inf, creep, creep)]
            else:
                up, down = abs(peak - v) / rate, (peak - creep) / d.deceleration
                left = room - (v + peak) / 2 * up - (peak + creep) / 2 * down
                cruise = left / peak if meet > target else 0.0
                plan = [(up, v, peak), (cruise, peak, peak), (down, peak, creep), (inf, creep, creep)]
        return [(lasts, sign * v0, sign * v1) for lasts, v0, v1 in plan if lasts > 0]

    def _push(self, way: str) -> None:
        d, x, v, sign = self.site.drive, self.position(), self.speed(), SIGN[way]
        start = (d.start_delay, 0.0, 0.0)
        if v * sign > 0:
            self._lay(self._ramp(way, x, abs(v)), x)
        elif v:
            lasts = abs(v) / d.stopping_deceleration
            if self.brought:
                lasts = min(lasts, self._rests_at() - self.env.now)
            rest = x + v / 2 * lasts
            self._lay([(lasts, v, 0.0), start, *self._ramp(way, rest, 0.0)], x)
        elif self.stop[way].on or any(c.bringing.on and c.direction == way for c in self.contacts.values()):
            self._rest(x)
        else:
            self._lay([start, *self._ramp(way, x, 0.0)], x)

    def _let_go(self, coast: bool) -> None:
        d, x, v = self.site.drive, self.position(), self.speed()
        if not v:
            self._rest(x)
            return
        delay, rate = (0, d.coasting_deceleration) if coast else (d.stopping_delay, d.stopping_deceleration)
        if self.brought and self._rests_at() <= self.env.now + delay + abs(v) / rate:
            return
        self._lay([leg for leg in ((delay, v, v), (abs(v) / rate, v, 0.0)) if leg[0] > 0], x)

    def bring_up(self, contact: Contact) -> None:
        """The obstruction brings the leaf to rest (called as the leaf passes the place)."""
        m, x, v = self.site.gate.mass, self.position(), abs(self.speed())
        rise = sqrt(1e9 * contact.k * m) * v
        lasts = 2 * (rise / contact.k) / v if v else 0.0
        if v and self.env.now + lasts < self._rests_at():
            self._lay([(lasts, SIGN[contact.direction] * v, 0.0)], x)
            self.brought = True
        self.force.reconsider()

    def _push_back(self) -> None:
        """A squeeze that nothing holds relaxes."""
        if not self.brake_released or self.energised is not None:
            return
        x, least = self.position(), self.site.gate.running_resistance
        contact = max(self.contacts.values(), key=lambda c: c.force(x), default=None)
        if contact is None or contact.force(x) <= least * (1 + 1e-9):
            return
        a = (contact.force(x) - least) / (2 * self.site.gate.mass) * 1e-9
        deep = (x - contact.position) * SIGN[contact.direction]
        top = sqrt(a * (deep - contact.deflection(least)))
        back = -SIGN[contact.direction]
        self._lay([(top / a, 0.0, back * top), (top / a, back * top, 0.0)], x)

    # --- the process -----------------------------------------------------------------------------------------

    def _again(self) -> None:
        if self.env.active_process is not self.process:
            self.process.interrupt()

    def _marks(self) -> list[Mark]:
        marks = [m for c in self.contacts.values() for m in c.marks]
        marks += [*self.limit.values(), *self.near_end.values(), *self.stop.values()]
        return marks if self.target is None else [*marks, self.target]

    def _next(self) -> tuple[float, Mark | None]:
        """The next mark passed or (None) the end of the leg."""
        leg = self.legs[0]
        if leg.v0 == 0 and leg.v1 == 0:
            return leg.until, None
        sign = 1 if leg.v0 + leg.v1 > 0 else -1
        when, first = leg.until, None
        for mark in self._marks():
            if mark.on == (mark.below == (sign > 0)):
                reached = leg.reaches(mark.at, sign)
                if reached < when or (reached == when and first is None and reached < inf):
                    when, first = reached, mark
        return max(when, self.env.now), first

    def _run(self) -> Process:
        while True:
            self._note()
            when, mark = self._next()
            try:
                yield self.env.at(when, LEAF) if when < inf else self.env.event()
            except simpy.Interrupt:
                continue
            if mark is not None:
                mark.on = not mark.on
                mark.switch(mark.on)
            else:
                self.legs.pop(0)

    def _note(self) -> None:
        """Say that the leaf started or came to standstill, once."""
        leg = self.legs[0]
        both = leg.v0 + leg.v1
        going = None if both == 0 else "opening" if both > 0 else "closing"
        if going == self.going:
            return
        self.going = going
        self.say(f"started {going}" if going else "stopped", "")
        if going:
            self.force.leaf_started()
            for contact in self.contacts.values():
                if contact.direction == going and contact.touched.on:
                    self.say("touch", contact.name)
        else:
            self._push_back()
        for feel in self.felt:
            feel(going is not None)
        self.force.reconsider()
        self.changed()
        if going is None:
            self._note()

    def _limit(self, name: str, on: bool) -> None:
        if on:
            self.say(name, "")
        self.changed()
