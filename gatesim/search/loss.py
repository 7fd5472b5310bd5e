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

from gatesim.errors import BadUsage
from gatesim.events import ContactBegan, Direction, Run
from gatesim.plant.build import build
from gatesim.plant.fault import Place
from gatesim.plant.faults.catalogue import faults, place
from gatesim.plant.logic.contract import Roles
from gatesim.plant.site import Site
from gatesim.run import Course, silences
from gatesim.search.classes import Class, Seen, Told, told
from gatesim.search.ground import LATE, Ground, Phase, course_of, grounds, nothing, one_leaf
from gatesim.search.loss_tree import NONE, Channel, Tree, Weighed, without_loss
from gatesim.search.loss_watch import STARTED, UNDISTURBED, ContactWatch, FaultWatch, Found, MoveWatch, StartWatch
from gatesim.search.moments import Prober, grid, lay
from gatesim.search.probe import PERMANENT, ContactProber, FaultProber

LEAST = Fraction(1, 10**15)
"""A branch of less chance is left out, and counted as left out."""
TRIED = 24
"""Moments of contact of which the worst is taken where none is given."""

IN_TIME = (Class.SAFE.value, Class.NO_EFFECT.value, Class.NUISANCE.value)
"""Classes of a reaction that is not late."""


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
    def failures(self) -> dict[str, Fraction]:
        """The chance of each failure, in words."""
        summed: dict[str, Fraction] = {}
        for one, chance in self.found.items():
            if one.why:
                said = f"{one.what}: {one.why}"
                summed[said] = summed.get(said, NONE) + chance
        return summed

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


class LossBench:
    """A site, its channels and its stories.  `channels` has one for each transmitter of the site."""

    def __init__(self, site: Site, roles: Roles, seed: int, channels: Mapping[str, Channel],
                 least: Fraction = LEAST, budget: float | None = None) -> None:
        if not site.transmitters:
            raise BadUsage(f"site {site.name!r} has no transmitter: nothing of it is sent over the air")
        self.site, self.seed, self.channels, self.least = site, seed, channels, least
        self.plant = without_loss(build(site, roles))
        one_leaf(site, "chances of lost frames")
        self.grounds = grounds(self.plant, site, seed, (Phase.TRAVEL, Phase.START))
        self.period = min(node.sampling for node in site.transmitters)
        self.ends = None if budget is None else time.perf_counter() + budget
        self.rows_to_come = 1
        """Among how many rows the time that is left is shared; whoever asks for several says so."""

    def ground(self, direction: Direction, phase: Phase) -> Ground:
        """The story of a move."""
        return next(one for one in self.grounds if (one.direction, one.phase) == (direction, phase))

    def healthy(self, direction: Direction) -> tuple[LossRow, LossRow]:
        """A start from its order on, and a move from the leaf's start on, with nothing but lost frames."""
        start, move = self.ground(direction, Phase.START), self.ground(direction, Phase.TRAVEL)
        return (self._row(START, "", start, start.first, "its order", self.before(start), StartWatch),
                self._row(MOVE, "", move, move.first + 1, "its start", self.before(move, 1), MoveWatch))

    def before(self, ground: Ground, after: int = 0) -> Course:
        """The healthy story right before its window begins, or so long after that."""
        course = course_of(self.plant, self.site, self.seed, ground.agenda, ground.ends + LATE)
        while course.next() < ground.first + after:
            course.live(course.next())
        return course

    def fault(self, kind: str, device: str, direction: Direction, at: int | None = None,
              swept: bool = False) -> LossRow:
        """A fault at a moment of the travel, at the worst that a sweep finds, or at the worst of some tried."""
        ground, spot = self.ground(direction, Phase.TRAVEL), place(faults()[kind], self.site, device)
        prober = FaultProber(self.plant, self.site, self.seed, ground, spot, PERMANENT)
        moment, whose = at or 0, "given"
        if at is None and swept:
            more = self._more(time.perf_counter() + (self._left() or 0.0) / 2)
            laid = lay(ground.first, ground.last, self.period, prober, lambda _: more())
            moment, whose = laid.worst.at, f"the worst of a sweep, {laid.coverage.value}"
        elif at is None:
            moment, whose = self._worst(ground, prober), f"the worst of {TRIED} tried"
        return self._row(kind, spot.device, ground, moment, whose, prober.begin(moment), FaultWatch, spot)

    def contact(self, direction: Direction, at: int | None = None) -> tuple[LossRow, ...]:
        """A contact at a moment of the travel: by the edge's path alone, and by the gate as a whole.

        None where no edge guards the direction by radio."""
        guarded = [zone.name for zone in self.site.zones if zone.direction is direction]
        if not any(edge.zone in guarded and edge.input in self.channels for edge in self.site.edges):
            return ()
        ground = self.ground(direction, Phase.TRAVEL)
        prober = ContactProber(self.plant, self.site, self.seed, ground, None, ground.first)
        moment, whose = at or 0, "given"
        if at is None:
            moment, whose = self._worst(ground, self._edge_alone(prober)), f"the worst of {TRIED} tried"
        rows = []
        alone = self._alone(prober.begin(moment))
        if alone is not None:
            rows.append(self._row(CONTACT, EDGE, ground, moment, whose, alone, ContactWatch, touched=True))
        return (*rows, self._row(CONTACT, WHOLE, ground, moment, whose, prober.begin(moment), ContactWatch))

    def holds(self, direction: Direction, at: int | None) -> bool:
        """Whether a moment lies in the travel of a move (None: any does)."""
        ground = self.ground(direction, Phase.TRAVEL)
        return at is None or ground.first <= at <= ground.last

    def spans(self) -> str:
        """The moves of the stories, in words."""
        moves = [self.ground(direction, Phase.TRAVEL) for direction in Direction]
        return ", ".join(f"{move.direction.value} lasts from {move.first / 1e6:.6f} s to {move.last / 1e6:.6f} s"
                         for move in moves)

    def _edge_alone(self, prober: ContactProber) -> Prober:
        """What the edge's path alone makes of a contact."""
        def probe(moment: Any) -> Told:
            prober(moment)
            judged = {name: one for name, one in prober.means.items() if name.startswith("edge-alone")}
            return told(judged, Seen(moment, interrupted=False, stood=None, as_press=False, guards=True))

        return probe

    def _worst(self, ground: Ground, prober: Prober) -> int:
        """The worst of some moments spread over the travel."""
        whole = ground.last - ground.first
        return grid([ground.first + whole * (2 * k + 1) // (2 * TRIED) for k in range(TRIED)], prober).worst.at

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
        """The share of the next row in the time that is left (s)."""
        return None if self.ends is None else max(0.0, self.ends - time.perf_counter()) / self.rows_to_come

    def _more(self, ends: float | None) -> Callable[[], bool]:
        return lambda: self.ends is None or ends is None or time.perf_counter() < ends

    def _row(self, story: str, device: str, ground: Ground, at: int, moment: str, course: Course,
             watch: Callable[..., Any], spot: Place | None = None, touched: bool = False) -> LossRow:
        begun = time.perf_counter()
        watching = watch(course, ground, self.site.gate.travel, at, spot)
        if touched:
            watching.touched = course.world.now
        left, self.rows_to_come = self._left(), max(1, self.rows_to_come - 1)
        tree = Tree(self.plant, self.channels, self.least, self._more(None if left is None else begun + left))
        weighed: Weighed = tree.explore(course, watching)
        return LossRow(story, device, ground.direction, at, moment, weighed.outcomes, weighed.unaccounted,
                       weighed.frames, weighed.branches, weighed.joined, time.perf_counter() - begun)
