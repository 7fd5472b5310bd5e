"""Every loss of a frame, weighed: a story forks at each frame that goes on air, into "heard" and "lost".

Nothing is drawn.  Each branch has its chance as a fraction, so that chances far below what any number of tries could
show are exact.  A fraction that grows beyond `LONG` bits is rounded down, to far below the least chance that is
followed, and what that takes is counted with what was left out.  Branches whose worlds are equal again (a frame was
lost, the next one told the same) become one, so the tree stays a graph of few branches.  What is left out, because its
chance is less than asked for or the time is up, is summed and said.

The path of a frame is good or bad (Gilbert 1960, Elliott 1963): before each frame a good one turns bad, or a bad one
good, with a chance each, and the frame is lost with the chance of the state then.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, NamedTuple, Protocol

from gatesim.errors import ModelError
from gatesim.plant.burst_state import BurstChain, chain_of
from gatesim.plant.link_budget import Link, link_of
from gatesim.plant.motion import at as place_at
from gatesim.plant.part import Out
from gatesim.plant.radio_path import RadioPath, RadioPathState
from gatesim.plant.site import Site, Transmitter
from gatesim.plant.wires import MarginTaken, Motion
from gatesim.plant.world import Plant, World
from gatesim.run import Course
from gatesim.units import FOREVER

NONE, ALL = Fraction(0), Fraction(1)
LONG = 1024
"""Bits of a denominator."""
FINER = 64
"""So many bits below the least chance a long fraction is rounded."""


class Channel(NamedTuple):
    """Loss of a path, frame by frame.  With `worse` 0 each frame is lost for itself, with the chance `loss`."""

    loss: Fraction
    """In the good state."""
    worse: Fraction = NONE
    """The chance that the good state turns bad before a frame."""
    better: Fraction = ALL
    """The chance that the bad state turns good before a frame."""
    loss_in_bad: Fraction = ALL
    bad_at_first: Fraction | None = None
    """The chance that it is bad before the first frame; None: its share in the long run."""
    chain: BurstChain | None = None
    """Where bursts come and go in time: instead of `worse` and `better`."""
    link: Link | None = None
    """A link budget, whose loss at the leaf's place comes on top."""

    @property
    def share_bad(self) -> Fraction:
        """The share of the bad state in the long run."""
        if self.chain is not None:
            return Fraction(self.chain.share_bad)
        return self.worse / (self.worse + self.better) if self.worse > 0 else NONE

    @property
    def mean(self) -> Fraction:
        """The share of frames lost in the long run, a link budget left aside."""
        return self.share_bad * self.loss_in_bad + (1 - self.share_bad) * self.loss

    def first(self) -> tuple[tuple[bool, Fraction], ...]:
        """(bad, chance) before the first frame."""
        bad = self.share_bad if self.bad_at_first is None else self.bad_at_first
        return ((False, 1 - bad), (True, bad)) if bad > 0 else ((False, ALL),)

    def frame(self, bad: bool, gap: float = 0.0, also: Fraction = NONE) -> tuple[tuple[bool, bool, Fraction], ...]:
        """(lost, bad, chance) of a frame that meets a path in this state so long after the last one (us), lost with the
        chance `also` for another reason; those with a chance only."""
        if self.chain is not None:
            then_bad = Fraction(self.chain.chance_of_bad(bad, gap))
        else:
            then_bad = 1 - self.better if bad else self.worse
        found = []
        for then, chance in ((False, 1 - then_bad), (True, then_bad)):
            loss = 1 - (1 - (self.loss_in_bad if then else self.loss)) * (1 - also)
            found += [(True, then, chance * loss), (False, then, chance * (1 - loss))]
        return tuple([one for one in found if one[2] > 0])


@dataclass(frozen=True, slots=True)
class HeardPath(RadioPath):
    """A path that loses nothing by itself, whatever its link budget."""

    def _loss(self, s: RadioPathState, now: float, air: Sequence[Any], out: Out) -> float:
        return 0.0


def without_loss(plant: Plant) -> Plant:
    """The same plant with paths that lose nothing: what is lost is decided by the tree."""
    return Plant([HeardPath(part.name, part.latency, part.latency_spread, 0.0, part.link)
                  if isinstance(part, RadioPath) else part for part in plant.parts])


def channels_of(site: Site) -> dict[str, Channel]:
    """The loss that a site states of each transmitter, as exact fractions of its decimal figures."""
    return {node.name: _channel(node, site) for node in site.transmitters}


def _channel(node: Transmitter, site: Site) -> Channel:
    def either(*losses: float) -> Fraction:
        heard = ALL
        for loss in losses:
            heard *= 1 - Fraction(str(loss))
        return 1 - heard

    link = None if node.radio is None else link_of(node.radio, site.gate.travel)
    bursts = node.bursts
    if bursts is None:
        return Channel(either(node.loss), link=link)
    good, bad = either(node.loss, bursts.loss_in_good), either(node.loss, bursts.loss_in_bad)
    if bursts.mean_good is not None:
        return Channel(good, loss_in_bad=bad, chain=chain_of(bursts), link=link)
    worse, better = Fraction(str(bursts.good_to_bad or 0.0)), Fraction(str(bursts.bad_to_good or 0.0))
    return Channel(good, worse, better, bad, link=link)


class Watch(Protocol):
    """Says what came of a branch."""

    def sees(self, course: Course, now: float, happened: list[Any]) -> Any:
        """Look at an instant; the outcome (hashable), or None while the branch goes on."""

    def ends(self, course: Course) -> Any:
        """The outcome of a branch whose story is over."""

    def copy(self, course: Course) -> Any:
        """An independent watch, for a fork of the course."""

    def facts(self) -> Any:
        """What it remembers, as one comparable value."""


class Weighed(NamedTuple):
    """What came of all branches."""

    outcomes: dict[Any, Fraction]
    """The chance of each outcome."""
    unaccounted: Fraction
    """The chance of what was left out.  With the outcomes it sums to 1; exactly, but for a rounding up."""
    branches: int
    """Branches followed to an outcome or into an equal one."""
    joined: int
    """How many of them became one with another."""
    frames: int
    """Frames at which a branch forked."""


Masses = dict[tuple[bool, ...], Fraction]


class _Branch:
    """One world, and the chance of being in it by the states of the paths."""

    __slots__ = ("course", "key", "looked", "masses", "watch")

    def __init__(self, course: Course, watch: Watch, masses: Masses, looked: tuple[float, ...]) -> None:
        self.course, self.watch, self.masses, self.looked = course, watch, masses, looked
        self.key: tuple[Any, ...] = ()

    @property
    def mass(self) -> Fraction:
        return sum(self.masses.values(), NONE)

    def same(self, other: _Branch) -> bool:
        """Whether both have the same future and the same memory of the past.  The instant itself does not matter."""
        mine, theirs = self.course, other.course
        return (
            self.looked == other.looked
            and mine.world.facts()[1:] == theirs.world.facts()[1:]
            and (mine.judge is None or theirs.judge is None or mine.judge.states == theirs.judge.states)
            and self.watch.facts() == other.watch.facts()
        )


class Tree:
    """Explores one story.  `least`: a branch of less chance is left out; `more()` says whether there is time."""

    def __init__(self, plant: Plant, channels: Mapping[str, Channel], least: Fraction = NONE,
                 more: Callable[[], bool] = lambda: True) -> None:
        self.least, self.more = least, more
        self.unit = 1 << (least.denominator.bit_length() + FINER) if least > 0 else 0
        self.paths = [(k, part) for k, part in enumerate(plant.parts) if isinstance(part, RadioPath)]
        self.channels = [channels[part.name] for _, part in self.paths]
        if any(type(part) is not HeardPath for _, part in self.paths):
            raise ModelError("a path that draws its losses is no path to fork at")
        self.plant = plant
        self.outcomes: dict[Any, Fraction] = {}
        self.unaccounted = NONE
        self.branches = self.joined = self.frames = self.number = 0
        self.heap: list[tuple[float, int, _Branch]] = []
        self.pending: dict[tuple[Any, ...], list[_Branch]] = {}

    def explore(self, course: Course, watch: Watch) -> Weighed:
        """All that may come of a course when the frames sent from now on may be lost."""
        masses: Masses = {(): ALL}
        for channel in self.channels:
            masses = {(*states, bad): mass * chance
                      for states, mass in masses.items() for bad, chance in channel.first()}
        self._push(_Branch(course, watch, masses, (course.world.now,) * len(self.channels)))
        while self.heap:
            _, _, branch = heapq.heappop(self.heap)
            self.pending[branch.key].remove(branch)
            if not self.pending[branch.key]:
                del self.pending[branch.key]
            if self.more():
                self._step(branch)
            else:
                self.unaccounted += branch.mass
        return Weighed(self.outcomes, self.unaccounted, self.branches, self.joined, self.frames)

    def _step(self, branch: _Branch) -> None:
        """One instant of a branch, and its forks."""
        course = branch.course
        now = course.next()
        if now > course.ends:
            self._outcome(branch, branch.watch.ends(course))
            return
        before = [_flying(course.world, k) for k, _ in self.paths]
        course.count = 0  # so that what the monitors keep as evidence does not tell equal worlds apart
        happened = course.live(now)
        outcome = branch.watch.sees(course, now, happened)
        if outcome is not None:
            self._outcome(branch, outcome)
            return
        branches = [branch]
        for place, (k, _) in enumerate(self.paths):
            for entry in _launched(before[place], _flying(course.world, k)):
                branches = [one for old in branches for one in self._fork(old, place, k, entry)]
        for one in branches:
            self._push(one)

    def _fork(self, branch: _Branch, place: int, k: int, entry: tuple[float, Any]) -> list[_Branch]:
        """Heard and lost, each with the chances of the path's states after this frame."""
        heard: Masses = {}
        lost: Masses = {}
        channel, now = self.channels[place], branch.course.world.now
        gap, also = now - branch.looked[place], self._by_link(branch.course.world, channel, place)
        if channel.chain is not None:
            branch.looked = (*branch.looked[:place], now, *branch.looked[place + 1:])
        for states, mass in branch.masses.items():
            for is_lost, bad, chance in channel.frame(states[place], gap, also):
                then = (*states[:place], bad, *states[place + 1:])
                into = lost if is_lost else heard
                into[then] = into.get(then, NONE) + mass * chance
        self.frames += 1
        self._round(heard)
        self._round(lost)
        if not lost:
            return [branch]
        course = branch.course
        if not heard:
            _drop(course.world, k, entry)
            branch.masses = lost
            return [branch]
        judge = None if course.judge is None else course.judge.copy()
        other = course.copy(judge, course.takes)
        _drop(other.world, k, entry)
        branch.masses = heard
        return [branch, _Branch(other, branch.watch.copy(other), lost, branch.looked)]

    def _round(self, masses: Masses) -> None:
        """Keep the fractions short; what is rounded off is left out."""
        for states, mass in masses.items():
            if self.unit and mass.denominator.bit_length() > LONG:
                masses[states] = Fraction(mass.numerator * self.unit // mass.denominator, self.unit)
                self.unaccounted += mass - masses[states]
                if self.unaccounted.denominator.bit_length() > LONG:
                    # Rounded up: with the outcomes it may then sum to more than 1, by next to nothing.
                    self.unaccounted = Fraction(-(-self.unaccounted.numerator * self.unit
                                                  // self.unaccounted.denominator), self.unit)

    def _by_link(self, world: World, channel: Channel, place: int) -> Fraction:
        """The chance that the link budget loses a frame sent now, with the leaf where it is."""
        if channel.link is None:
            return NONE
        taken = world.values[self.plant.wires[MarginTaken(self.paths[place][1].name)]]
        x = place_at(world.values[self.plant.wires[Motion()]], world.now)[0]
        return Fraction(channel.link.loss_at(x, world.now, taken))

    def _push(self, branch: _Branch) -> None:
        if branch.mass < self.least:
            self.unaccounted += branch.mass
            return
        course = branch.course
        now = course.next()
        branch.key = (now, course.next_due, course.world.pending, *course.world.due)
        bucket = self.pending.setdefault(branch.key, [])
        for other in bucket:
            if branch.same(other):
                for states, mass in branch.masses.items():
                    other.masses[states] = other.masses.get(states, NONE) + mass
                self.joined += 1
                self.branches += 1
                return
        bucket.append(branch)
        self.number += 1
        heapq.heappush(self.heap, (now, self.number, branch))

    def _outcome(self, branch: _Branch, outcome: Any) -> None:
        self.branches += 1
        self.outcomes[outcome] = self.outcomes.get(outcome, NONE) + branch.mass


def _flying(world: World, k: int) -> tuple[tuple[float, Any], ...]:
    up: tuple[tuple[float, Any], ...] = world.states[k].up
    return up


def _launched(before: tuple[tuple[float, Any], ...],
              after: tuple[tuple[float, Any], ...]) -> list[tuple[float, Any]]:
    """What went on air in an instant.  (A frame is on its way for as long as it lasts, so it still is.)"""
    known = [(at, id(message)) for at, message in before]
    found = []
    for at, message in after:
        if (at, id(message)) in known:
            known.remove((at, id(message)))
        else:
            found.append((at, message))
    return found


def _drop(world: World, k: int, entry: tuple[float, Any]) -> None:
    """The frame is lost on the air.  Its delay stays drawn: those of later frames are the same in each branch."""
    state = world.states[k]
    place = next(n for n, one in enumerate(state.up) if one[0] == entry[0] and one[1] is entry[1])
    state.up = (*state.up[:place], *state.up[place + 1:])
    world.due[k] = min([at for at, _ in (*state.up, *state.down)], default=FOREVER)
