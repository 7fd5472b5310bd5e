"""Lost frames: how they spread a reaction's time, how often it comes late, and how often a healthy move is broken off.

A row is one story of a site with the frames from one moment on forked (`loss_tree`).  Its chances are exact for the
model and this seed: the lateness of check-ins and the delays of frames are those that the seed gives, in each branch
the same.  Frames from before the moment are heard, and what the receiver sends down is not lost.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Any, NamedTuple

from gatesim import events as e
from gatesim.errors import BadUsage
from gatesim.events import ContactBegan, Direction, Lockout, Run
from gatesim.plant.fault import Place
from gatesim.plant.faults.catalogue import faults, place
from gatesim.plant.logic.contract import Roles
from gatesim.plant.site import Site
from gatesim.requirements.verdict import Outcome
from gatesim.run import Course, silences
from gatesim.search.classes import AWAITED, TOUCHED, Class, Seen, Told, reaction_in, told
from gatesim.search.ground import Ground, Phase, course_of, nothing
from gatesim.search.loss_tree import NONE, Channel, Tree, Weighed, without_loss
from gatesim.search.moments import Coverage, grid
from gatesim.search.probe import LATE, LATE_STOP, PERMANENT, ContactProber, FaultProber, Watch, guards
from gatesim.search.sweep import Bench
from gatesim.units import us

LEAST = Fraction(1, 10**15)
"""A branch of less chance is left out, and counted as left out."""
TRIED = 24
"""Moments of contact of which the worst is taken where none is given."""

STARTED, REFUSED = "started", "start refused"
UNDISTURBED, BROKEN_OFF, LOCKED = "undisturbed", "broken off", "locked out"
"""What may come of a healthy move first: its order ends before the limit is reached; a direction is locked out while it
goes on; or it comes to its end."""
IN_TIME = (Class.SAFE.value, Class.NO_EFFECT.value, Class.NUISANCE.value)
"""Classes of a reaction that is not late."""


class Found(NamedTuple):
    """What came of one branch; `measured` and `limit` (us) where a reaction was timed."""

    what: str
    requirement: str = ""
    measured: int | None = None
    limit: int | None = None
    why: str = ""
    """What failed."""


class LossRow(NamedTuple):
    """One story with all that lost frames may make of it."""

    story: str
    """"healthy start", "healthy move", "contact", or the fault's id."""
    device: str
    """The device of the fault; of a contact, the means that is judged."""
    direction: Direction
    at: int
    """Frames sent from this moment of the story on (us) may be lost."""
    moment: str
    """Whose choice the moment is."""
    found: dict[Found, Fraction]
    """The chance of each outcome."""
    unaccounted: Fraction
    """The chance of what was left out.  With the outcomes it sums to 1."""
    frames: int
    branches: int
    joined: int
    seconds: float

    @property
    def healthy(self) -> bool:
        """Whether nothing but the loss disturbs it."""
        return self.story in (START, MOVE)

    @property
    def outcomes(self) -> dict[str, Fraction]:
        """The chance of each class."""
        summed: dict[str, Fraction] = {}
        for one, chance in self.found.items():
            summed[one.what] = summed.get(one.what, NONE) + chance
        return dict(sorted(summed.items(), key=lambda item: -item[1]))

    @property
    def bad(self) -> Fraction:
        """The chance that the reaction is late or none, or that the healthy story comes to a nuisance."""
        fine = (STARTED, UNDISTURBED) if self.healthy else IN_TIME
        return sum((chance for one, chance in self.found.items() if one.what not in fine), NONE)

    @property
    def times(self) -> tuple[tuple[int, Fraction], ...]:
        """(reaction time in us, chance), rising.  What is missing to 1 had no reaction or was left out."""
        summed: dict[int, Fraction] = {}
        for one, chance in self.found.items():
            if one.measured is not None:
                summed[one.measured] = summed.get(one.measured, NONE) + chance
        return tuple(sorted(summed.items()))

    @property
    def limit(self) -> int | None:
        """The least limit of the reactions (us)."""
        return min([one.limit for one in self.found if one.limit is not None], default=None)

    def longest(self, beyond: Fraction) -> int | None:
        """The least time that a reaction exceeds with at most this chance, what was left out and what never reacted
        counted as longer; None where no time does."""
        left = 1 - sum((chance for _, chance in self.times), NONE)
        if left > beyond or not self.times:
            return None
        found = self.times[-1][0]
        for measured, chance in reversed(self.times):
            found = measured
            left += chance
            if left > beyond:
                break
        return found


START, MOVE, CONTACT = "healthy start", "healthy move", "contact"
EDGE, WHOLE = "edge alone", "gate as a whole"


class _Watching:
    """What the three watches share: a `Watch` of the sweep, bound anew to the monitors of each fork."""

    def __init__(self, course: Course, ground: Ground, travel: float, moment: int, spot: Place | None) -> None:
        self.ground, self.travel, self.moment, self.spot = ground, travel, moment, spot
        self.watch = Watch(course, ground, travel)

    def copy(self, course: Course) -> Any:
        """An independent watch for a fork."""
        new = type(self)(course, self.ground, self.travel, self.moment, self.spot)
        for name in ("awaited", "interrupted", "moving", "acted", "stood"):
            setattr(new.watch, name, getattr(self.watch, name))
        new.remember(self)
        return new

    def remember(self, other: Any) -> None:
        """Take over what this kind of watch remembers beside."""

    def facts(self) -> tuple[Any, ...]:
        """What it remembers."""
        one = self.watch
        return (one.awaited, one.interrupted, one.moving, one.acted, one.stood)

    def ends(self, course: Course) -> Found:
        """The story is over."""
        return self.outcome(course)

    def outcome(self, course: Course) -> Found:
        """What has come of it so far."""
        raise NotImplementedError


class FaultWatch(_Watching):
    """A fault's reaction, judged as in a sweep."""

    def sees(self, course: Course, now: float, happened: list[Any]) -> Found | None:
        """The outcome when the reaction is known."""
        return self.outcome(course) if self.watch.over(now, happened) else None

    def outcome(self, course: Course) -> Found:
        assert self.spot is not None
        assert self.spot.fault is not None
        assert course.judge is not None
        seen = Seen(self.moment, self.watch.interrupted, self.watch.stood, self.spot.fault.as_press,
                    guards(self.spot, self.ground.direction))
        judged = course.judge.verdicts(course.world.now)
        one = told(judged, seen)
        # How long until the fault is answered, not which of the times that follow has the least margin.
        answered = reaction_in({name: verdict for name, verdict in judged.items() if name in AWAITED}, seen)
        return _found(one._replace(reaction=answered or one.reaction))


class ContactWatch(_Watching):
    """A contact, by the gate as a whole or (where the course is that twin) by the edge's path alone."""

    touched: float | None = None
    left = False

    def remember(self, other: Any) -> None:
        self.touched, self.left = other.touched, other.left

    def facts(self) -> tuple[Any, ...]:
        return (*super().facts(), self.touched, self.left)

    def sees(self, course: Course, now: float, happened: list[Any]) -> Found | None:
        """The outcome when the leaf has left what it touched, or stands there for good."""
        for event in happened:
            if type(event) is e.ContactBegan and self.touched is None:
                self.touched = now
            elif type(event) is e.ContactEnded:
                self.left = True
        over = self.watch.over(now, happened)
        stands = self.touched is not None and not self.watch.moving and now > self.touched + LATE_STOP
        return self.outcome(course) if over or self.left or stands else None

    def outcome(self, course: Course) -> Found:
        assert course.judge is not None
        judged = course.judge.verdicts(course.world.now)
        seen = Seen(self.moment, self.watch.interrupted, None, as_press=False, guards=True)
        begun = {name: one for name, one in judged.items() if name in TOUCHED}
        one = told(judged, seen)
        if one.what in (Class.SAFE, Class.NO_EFFECT, Class.NUISANCE):
            for name, verdict in begun.items():
                if verdict.outcome is Outcome.UNDETERMINED:
                    return Found(Class.UNDETERMINED.value, why=f"{name}: {verdict.reason}")
        return _found(one._replace(reaction=told(begun, seen).reaction))


class StartWatch(_Watching):
    """A start that nothing but the loss disturbs: how long after the order the leaf starts."""

    def sees(self, course: Course, now: float, happened: list[Any]) -> Found | None:
        """The outcome when the leaf starts, or the start is refused."""
        for event in happened:
            kind = type(event)
            if kind is e.LeafStarted:
                return Found(STARTED, "", us(now - self.moment))
            if kind is e.CommandRefused:
                return Found(REFUSED)
        return None

    def outcome(self, course: Course) -> Found:
        return Found(Class.UNDETERMINED.value)


class MoveWatch(_Watching):
    """A move that nothing but the loss disturbs: the first that goes wrong, or its own end."""

    at_end = False

    def remember(self, other: Any) -> None:
        self.at_end = other.at_end

    def facts(self) -> tuple[Any, ...]:
        return (*super().facts(), self.at_end)

    def sees(self, course: Course, now: float, happened: list[Any]) -> Found | None:
        """The outcome at the first order that is not to go on, the first lockout, or standstill."""
        self.watch.over(now, happened)
        for event in happened:
            kind = type(event)
            if kind is e.LimitReached:
                self.at_end = True
            elif kind is e.OrdersChanged:
                if event.order is not self.ground.direction and not self.at_end:
                    return Found(BROKEN_OFF)
                if event.lockout is not Lockout.NONE:
                    return Found(LOCKED)
        return None if self.watch.moving else self.outcome(course)

    def outcome(self, course: Course) -> Found:
        if self.watch.moving:
            return Found(Class.UNDETERMINED.value)
        return Found(BROKEN_OFF if self.watch.interrupted else UNDISTURBED)


def _found(one: Told) -> Found:
    if one.reaction is None:
        return Found(one.what.value, why=one.why)
    return Found(one.what.value, one.reaction.requirement, us(one.reaction.measured), one.reaction.limit, one.why)


class LossBench:
    """A site, its channels and its stories.  `channels` has one for each transmitter of the site."""

    def __init__(self, site: Site, roles: Roles, seed: int, channels: Mapping[str, Channel],
                 least: Fraction = LEAST, budget: float | None = None) -> None:
        if not site.transmitters:
            raise BadUsage(f"site {site.name!r} has no transmitter: nothing of it is sent over the air")
        self.site, self.seed, self.channels, self.least = without_loss(site), seed, channels, least
        self.bench = Bench(self.site, roles, seed, (Phase.TRAVEL, Phase.START))
        self.plant = self.bench.plant
        self.ends = None if budget is None else time.perf_counter() + budget

    def ground(self, direction: Direction, phase: Phase) -> Ground:
        """The story of a move."""
        return next(one for one in self.bench.grounds if (one.direction, one.phase) == (direction, phase))

    def healthy(self, direction: Direction) -> tuple[LossRow, LossRow]:
        """A start from its order on, and a move from the leaf's start on, with nothing but lost frames."""
        start, move = self.ground(direction, Phase.START), self.ground(direction, Phase.TRAVEL)
        return (self._row(START, "", start, start.first, "its order", self._before(start), StartWatch),
                self._row(MOVE, "", move, move.first + 1, "its start", self._before(move, 1), MoveWatch))

    def _before(self, ground: Ground, after: int = 0) -> Course:
        """The healthy story right before its window begins, or so long after that."""
        course = course_of(self.plant, self.site, self.seed, ground.agenda, ground.ends + LATE)
        while course.next() < ground.first + after:
            course.live(course.next())
        return course

    def fault(self, kind: str, device: str, direction: Direction, at: int | None = None) -> LossRow:
        """A fault at a moment of the travel, or at the worst moment that a sweep finds."""
        ground, spot = self.ground(direction, Phase.TRAVEL), place(faults()[kind], self.site, device)
        moment, whose = self._within(ground, at), "given"
        if at is None:
            number = self.bench.grounds.index(ground)
            task = next(one for one in self.bench.tasks([kind]) if one.device == spot.device and one.ground == number)
            row = self.bench.row(task, self._left())
            assert row.worst is not None
            moment = row.worst.at
            whose = f"the worst of the sweep, {row.coverage.value}"
        prober = FaultProber(self.plant, self.site, self.seed, ground, spot, PERMANENT)
        return self._row(kind, spot.device, ground, moment, whose, prober.begin(moment), FaultWatch, spot)

    def contact(self, direction: Direction, at: int | None = None) -> tuple[LossRow, ...]:
        """A contact at a moment of the travel: by the edge's path alone, and by the gate as a whole.

        None where no edge guards the direction by radio."""
        guarded = [zone.name for zone in self.site.zones if zone.direction is direction]
        if not any(edge.zone in guarded and edge.input in self.channels for edge in self.site.edges):
            return ()
        ground = self.ground(direction, Phase.TRAVEL)
        prober = ContactProber(self.plant, self.site, self.seed, ground, None, ground.first)
        moment, whose = self._within(ground, at), "given"
        if at is None:
            moment, whose = self._worst_contact(prober, ground), f"the worst of {TRIED} tried"
        rows = []
        course = prober.begin(moment)
        alone = self._alone(prober.begin(moment))
        if alone is not None:
            rows.append(self._row(CONTACT, EDGE, ground, moment, whose, alone, ContactWatch, touched=True))
        return (*rows, self._row(CONTACT, WHOLE, ground, moment, whose, course, ContactWatch))

    def _within(self, ground: Ground, at: int | None) -> int:
        if at is not None and not ground.first <= at <= ground.last:
            raise BadUsage(f"{at / 1e6:.6f} s is not in the travel while {ground.direction.value}: it lasts from "
                           f"{ground.first / 1e6:.6f} s to {ground.last / 1e6:.6f} s of its story")
        return ground.first if at is None else at

    def _worst_contact(self, prober: ContactProber, ground: Ground) -> int:
        """The moment with the longest reaction of the edge alone among some spread over the travel."""
        def edge_alone(moment: Any) -> Told:
            prober(moment)
            judged = {name: one for name, one in prober.means.items() if name.startswith("edge-alone")}
            return told(judged, Seen(moment, interrupted=False, stood=None, as_press=False, guards=True))

        whole = ground.last - ground.first
        laid = grid([ground.first + whole * (2 * k + 1) // (2 * TRIED) for k in range(TRIED)], edge_alone)
        assert laid.coverage is Coverage.SAMPLED
        return laid.worst.at

    def _alone(self, course: Course) -> Course | None:
        """The twin with the force sensing silent, from the contact on; None where it is not judged."""
        for now, happened in course.play():
            if any(type(event) is ContactBegan for event in happened):
                assert course.judge is not None
                judge = course.judge.twin(Run.EDGE_ALONE)
                if not judge.monitors:
                    return None
                twin = course.copy(judge, nothing)
                twin.live(now, silences(twin.plant, Run.EDGE_ALONE))
                return twin
        return None

    def _left(self) -> float | None:
        return None if self.ends is None else max(0.0, self.ends - time.perf_counter()) / 2

    def _row(self, story: str, device: str, ground: Ground, at: int, moment: str, course: Course,
             watch: Callable[..., Any], spot: Place | None = None, touched: bool = False) -> LossRow:
        begun = time.perf_counter()
        watching = watch(course, ground, self.site.gate.travel, at, spot)
        if touched:
            watching.touched = course.world.now
        tree = Tree(self.plant, self.channels, self.least,
                    lambda: self.ends is None or time.perf_counter() < self.ends)
        weighed: Weighed = tree.explore(course, watching)
        return LossRow(story, device, ground.direction, at, moment, weighed.outcomes, weighed.unaccounted,
                       weighed.frames, weighed.branches, weighed.joined, time.perf_counter() - begun)
