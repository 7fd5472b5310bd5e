"""One fault in one story at one moment: a fork of the nominal course, played until what came of it is known."""

from __future__ import annotations

from typing import Any

from gatesim import events as e
from gatesim.errors import GatesimError, ModelError
from gatesim.events import ContactBegan, Direction, Guard, LeafName, Run
from gatesim.plant.fault import FaultBegins, FaultEnds, Place
from gatesim.plant.leaves import as_leaf, leaves
from gatesim.plant.world import Plant
from gatesim.requirements.verdict import Verdict
from gatesim.run import Course, silences
from gatesim.scenario.agenda import Due
from gatesim.search.classes import AWAITED, TOUCHED, Class, Seen, Told, told
from gatesim.search.ground import LATE as LONGER
from gatesim.search.ground import Ground, course_of, nothing
from gatesim.search.ordering import Noted
from gatesim.search.traced import Traced
from gatesim.search.trail import LATE, Along, Trail

KEY = "swept"
LATE_STOP = 3_000_000
"""How long (us) after a contact its verdict is awaited by a leaf at rest."""
DEADLOCK = 20_000
"""Instants after which a run is given up as undetermined."""


class Pulse:
    """How long a fault lasts: for good, or `lasts` with a `gap` after it, so many `times` (us)."""

    __slots__ = ("gap", "lasts", "times", "title")

    def __init__(self, title: str, lasts: int | None = None, gap: int = 0, times: int = 1) -> None:
        self.title, self.lasts, self.gap, self.times = title, lasts, gap, times


PERMANENT = Pulse("permanent")
TRANSIENT = Pulse("transient", 150_000)
INTERMITTENT = Pulse("intermittent", 80_000, 220_000, 5)
PULSES = (PERMANENT, TRANSIENT, INTERMITTENT)


def guards(place: Place, direction: Direction) -> bool:
    """Whether a device has to do with a move in this direction: it guards it, or is of the drive that moves it."""
    whose = place.device.removeprefix(LeafName.SECOND.of).strip()
    if whose in {way.value for way in Direction}:
        return whose == direction.value  # the contactor of a direction, of either leaf
    return place.guard in (Guard.BOTH, Guard.DRIVE) or place.guard.value == direction.value


class FaultProber:
    """Plays a ground with a fault at a moment.  Moments may come in any order; a rising one is fastest."""

    def __init__(self, plant: Plant, site: Any, seed: int, ground: Ground, place: Place,
                 pulse: Pulse = PERMANENT, noted: Noted | None = None) -> None:
        self.plant, self.site, self.seed, self.ground = plant, site, seed, ground
        self.noted = noted
        self.place, self.pulse = place, pulse
        self.guards = guards(place, ground.direction)
        self.nominal: Course | None = None
        self.acted = False
        """Whether the fault disturbed anything in the last run."""
        self.trail: Trail | None = None
        """What the last run left that was lived to its end."""
        self.lived = LATE + 1
        """Instants that the last run lived through itself."""

    def begin(self, moment: Any) -> Course:
        """The course right before the moment, with the fault still to come."""
        return self._with(self._fork(moment), self.stimuli(moment))

    def _with(self, course: Course, stimuli: list[Due]) -> Course:
        course.to_come = tuple(merged(list(course.to_come[course.next_due:]), stimuli))
        course.next_due = 0
        return course

    def __call__(self, moment: Any) -> Told:
        if not isinstance(moment, Traced):
            return self._told(self.begin(moment), moment, None)
        if self.noted is None:
            self.noted = Noted(self.plant, self.site, self.seed, self.ground)
        moment.path.ordering = True  # between which instants it lies is claimed afterwards
        course = self.noted.course(self.begin(moment), moment.path)
        moment.path.ordering = False
        along = Along(self.noted, self.trail, moment, keeps=self.lived > LATE)
        said = along.ended(course, self._told(course, moment, along))
        self.trail, self.lived = along.left, along.lived
        return said

    def _told(self, course: Course, moment: Any, along: Along | None) -> Told:
        """What a course comes to."""
        judge = course.judge
        assert judge is not None
        try:
            seen = self._play(course, moment, along)
        except GatesimError as error:
            return Told(Class.UNDETERMINED, None, f"{type(error).__name__}: {error}", broken=True)
        if along is not None and along.said is not None:
            return along.said
        return told(judge.verdicts(course.world.now), seen)._replace(acted=self.acted)

    def stimuli(self, moment: Any) -> list[Due]:
        """What the fault brings from outside."""
        made: list[Due] = []
        for turn in range(self.pulse.times):
            begin = moment + turn * ((self.pulse.lasts or 0) + self.pulse.gap)
            key = f"{KEY}.{turn}"
            fault = self.place.fault
            assert fault is not None
            made += [Due(begin, FaultBegins(key, fault, wire, self.place.device, self.place.guard))
                     for wire in self.place.wires]
            if self.pulse.lasts is not None:
                made.append(Due(begin + self.pulse.lasts, FaultEnds(key)))
        return made

    def _fork(self, moment: Any) -> Course:
        """The nominal course at the last instant before the moment."""
        at = _plain(moment)
        if self.nominal is None or self.nominal.world.now >= at > 0:
            self.nominal = course_of(self.plant, self.site, self.seed, self.ground.agenda, self.ground.ends + LONGER)
        try:
            while (now := self.nominal.next()) < at:
                self.nominal.live(now)
        except GatesimError:
            self.nominal = None  # a world that broke off is lived on by nobody
            raise
        judge = self.nominal.judge
        assert judge is not None
        fork = self.nominal.copy(judge.copy(), nothing)
        if isinstance(moment, Traced):
            # It speaks for no moment before the instant at which it forked.
            assert moment > fork.world.now or fork.world.now == 0
        return fork

    def _play(self, course: Course, moment: Any, along: Along | None) -> Seen:
        """Play until the reaction is known, the story has ended or the course has joined a trail."""
        assert self.place.fault is not None
        watch = watch_for(course, self.ground, self.site)
        for instants, (now, happened) in enumerate(course.play()):
            if watch.over(now, happened):
                break
            if instants > DEADLOCK:
                raise ModelError(f"given up after {DEADLOCK} instants")
            if along is not None and along.after(course, now, watch.facts()):
                break
        self.acted = watch.acted is not None
        as_press = self.place.fault.as_press or self.place.as_press
        return Seen(moment, watch.interrupted, watch.stood, as_press, self.guards)


def contact(site: Any, ground: Ground, moment: Any) -> Due:
    """An obstruction that the moving leaf meets at this moment: it enters behind its face, and is moved to it."""
    zone = next(zone for zone in site.zones if zone.direction is ground.direction and zone.leaf is ground.leaf)
    far = as_leaf(site, ground.leaf).gate.travel if ground.direction is Direction.CLOSING else 0.0
    return Due(moment, e.EnterObstruction("sweep contact", zone.name, far, None, True, ground.leaf.of))


class ContactProber(FaultProber):
    """The fault is there since `onset`; at the moment tried an obstruction meets the moving leaf.

    Each means is judged for itself, by forks with the other one held silent, as in a run.
    """

    def __init__(self, plant: Plant, site: Any, seed: int, ground: Ground, place: Place | None, onset: int) -> None:
        super().__init__(plant, site, seed, ground, place or Place("", (), Guard.BOTH))
        self.onset = onset
        self.means: dict[str, Verdict] = {}
        """What was said of each means at the last moment tried."""

    def begin(self, moment: Any) -> Course:
        """The course right before the moment, with the obstruction still to come."""
        return self._with(self._fork(moment), [contact(self.site, self.ground, moment)])

    def __call__(self, moment: Any) -> Told:
        try:
            return self._judged(self.begin(moment), moment)
        except GatesimError as error:
            return Told(Class.UNDETERMINED, None, f"{type(error).__name__}: {error}")

    def _judged(self, course: Course, moment: Any) -> Told:
        judge = course.judge
        assert judge is not None
        self.means = {}
        watch = watch_for(course, self.ground, self.site)
        touched: Any = None
        for now, happened in course.play():
            if any(type(event) is ContactBegan for event in happened):
                touched = now
                for run in (Run.EDGE_ALONE, Run.FORCE_ALONE):
                    self.means |= self._alone(course, run, now)
            if watch.over(now, happened) or (touched is not None and not watch.moving and now > touched + LATE_STOP):
                break
        self.means |= {name: one for name, one in judge.verdicts(course.world.now).items() if name in TOUCHED}
        return told({**judge.verdicts(course.world.now), **self.means},
                    Seen(moment, watch.interrupted, None, as_press=False, guards=True))

    def _alone(self, course: Course, run: Run, now: Any) -> dict[str, Verdict]:
        """The verdict of one means on the contact of this instant."""
        assert course.judge is not None
        judge = course.judge.twin(run)
        twin = course.copy(judge, nothing)
        twin.live(now, silences(twin.plant, run))
        for _ in twin.play():
            if judge.settled():
                break
        return {name: one for name, one in judge.verdicts(twin.world.now).items() if name in TOUCHED}

    def stimuli(self, moment: Any) -> list[Due]:
        return super().stimuli(moment) if self.place.wires else []

    def _fork(self, moment: Any) -> Course:
        if self.nominal is None and self.place.wires:
            self.ground = self.ground._replace(
                agenda=tuple(merged(list(self.ground.agenda), self.stimuli(self.onset))))
        return super()._fork(moment)


class Watch:
    """Says when a run has told what there is to know."""

    def __init__(self, course: Course, ground: Ground, travel: float) -> None:
        judge = course.judge
        assert judge is not None
        self.open = [judge.states[k] for k, one in enumerate(judge.monitors)
                     if one.id in AWAITED]
        self.stop = [judge.states[k] for k, one in enumerate(judge.monitors) if one.id == "stop-obeyed"]
        self.ground, self.travel = ground, travel
        self.awaited = self.interrupted = False
        self.moving = True
        self.acted: Any = None
        self.stood: Any = None
        """How long after the fault acted the leaf first stood."""
        self.last = ground.ends

    def facts(self) -> tuple[Any, ...]:
        """All that it remembers."""
        return (self.awaited, self.interrupted, self.moving, self.acted, self.stood)

    def over(self, now: Any, happened: list[Any]) -> bool:
        """Look at an instant's events; whether the run may end after it."""
        for event in happened:
            kind = type(event)
            if kind is e.WireDisturbed and self.acted is None:
                self.acted = now
            elif kind is e.LeafStopped:
                self.moving = False
                if not self.ground.is_own_end(event.x, self.travel):
                    self.interrupted = True
                    if self.stood is None and self.acted is not None:
                        self.stood = now - self.acted
            elif kind is e.LeafStarted:
                self.moving = True
                if event.direction is not self.ground.direction:
                    self.interrupted = True
        waits = any(state.open for state in self.open) or any(state.since >= 0 for state in self.stop)
        self.awaited = self.awaited or any(state.open for state in self.open)
        if self.awaited and not waits:
            return True
        return bool(now >= self.last and not waits and not self.moving)


class WatchBoth(Watch):
    """The same of a gate of two leaves, of which one may stand and wait while the order goes on.

    The move is interrupted when the order ends, or turns, before every leaf has come to its own end, or when a leaf
    goes the other way.  The leaf *stands* when both do.
    """

    def __init__(self, course: Course, ground: Ground, site: Any) -> None:
        super().__init__(course, ground, site.gate.travel)
        self.travels = {one.leaf: one.gate.travel for one in leaves(site)}
        assert course.judge is not None
        known = [state.driving for state, one in zip(course.judge.states, course.judge.monitors, strict=True)
                 if one.id == AWAITED[0]]
        self.under_way: set[LeafName] = {one.leaf for one in known if one.direction is not None}
        self.short: set[LeafName] = set()
        """Leaves that have come to stand away from the end for which they make."""
        self.ordered = any(one.order is ground.direction for one in known)
        self.moving = bool(self.under_way)

    def facts(self) -> tuple[Any, ...]:
        """All that it remembers."""
        return (*super().facts(), self.ordered, *[leaf in self.under_way for leaf in LeafName],
                *[leaf in self.short for leaf in LeafName])

    def over(self, now: Any, happened: list[Any]) -> bool:
        """Look at an instant's events; whether the run may end after it."""
        others = []
        for event in happened:
            kind = type(event)
            if kind is e.LeafStopped:
                self.under_way.discard(event.leaf)
                if not self.ground.is_own_end(event.x, self.travels[event.leaf]):
                    self.short.add(event.leaf)
            elif kind is e.LeafStarted:
                self.under_way.add(event.leaf)
                self.short.discard(event.leaf)
                if event.direction is not self.ground.direction:
                    self.interrupted = True
            elif kind is e.OrdersChanged:
                self.ordered = event.order is self.ground.direction
                others.append(event)
            else:
                others.append(event)
        if self.short and not self.ordered:
            self.interrupted = True
            if not self.under_way and self.stood is None and self.acted is not None:
                self.stood = now - self.acted
        self.moving = bool(self.under_way)
        return super().over(now, others)


def watch_for(course: Course, ground: Ground, site: Any) -> Watch:
    """What watches a run on this site."""
    if site.second_leaf is None:
        return Watch(course, ground, site.gate.travel)
    return WatchBoth(course, ground, site)


def _plain(moment: Any) -> float:
    return moment.value if isinstance(moment, Traced) else moment


def merged(rest: list[Due], stimuli: list[Due]) -> list[Due]:
    """Both in the order of their instants; of equal ones the story's come first."""
    made: list[Due] = []
    coming = list(stimuli)
    for due in rest:
        while coming and coming[0].at < due.at:
            made.append(coming.pop(0))
        made.append(due)
    return made + coming
