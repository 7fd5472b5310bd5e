"""Every loss of a frame, weighed: a story forks at each frame that goes on air, into "heard" and "lost".

Nothing is drawn.  Each branch has its chance as a fraction, so that chances far below what any number of tries could
show are exact, and nothing is rounded.  Branches whose worlds are equal again (a frame was lost, the next one told the
same) become one, so the tree stays a graph of few branches.  What is left out, because its chance is less than asked
for or the time is up, is summed and said.

The path of a frame is good or bad (Gilbert 1960, Elliott 1963): before each frame a good one turns bad, or a bad one
good, with a chance each, and the frame is lost with the chance of the state then.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any, NamedTuple, Protocol

from gatesim.errors import ModelError
from gatesim.plant.radio_path import SPREAD, RadioPath
from gatesim.plant.site import Site
from gatesim.plant.world import Plant, World
from gatesim.run import Course
from gatesim.units import FOREVER

NONE, ALL = Fraction(0), Fraction(1)


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
    """The chance that it is bad before the first frame; None: its share in the long run, worse / (worse + better)."""

    def first(self) -> tuple[tuple[bool, Fraction], ...]:
        """(bad, chance) before the first frame."""
        bad = self.bad_at_first
        if bad is None:
            bad = self.worse / (self.worse + self.better) if self.worse > 0 else NONE
        return ((False, 1 - bad), (True, bad)) if bad > 0 else ((False, ALL),)

    def frame(self, bad: bool) -> tuple[tuple[bool, bool, Fraction], ...]:
        """(lost, bad, chance) of a frame that meets a path in this state; those with a chance only."""
        turns = self.better if bad else self.worse
        found = []
        for then, chance in ((bad, 1 - turns), (not bad, turns)):
            loss = self.loss_in_bad if then else self.loss
            found += [(True, then, chance * loss), (False, then, chance * (1 - loss))]
        return tuple([one for one in found if one[2] > 0])

    @property
    def mean(self) -> Fraction:
        """The share of frames lost in the long run."""
        if self.worse == 0:
            return self.loss
        return (self.worse * self.loss_in_bad + self.better * self.loss) / (self.worse + self.better)


def without_loss(site: Site) -> Site:
    """The same site with radio paths that lose nothing: what is lost is decided here."""
    return replace(site, transmitters=tuple([replace(node, loss=0.0) for node in site.transmitters]))


def channels_of(site: Site) -> dict[str, Channel]:
    """The loss that a site states of each transmitter, as exact fractions of its decimal figures."""
    return {node.name: Channel(Fraction(str(node.loss))) for node in site.transmitters}


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
    """The chance of what was left out; with the outcomes it sums to 1, exactly."""
    branches: int
    """Branches followed to an outcome or into an equal one."""
    joined: int
    """How many of them became one with another."""
    frames: int
    """Frames at which a branch forked."""


Masses = dict[tuple[bool, ...], Fraction]


class _Branch:
    """One world, and the chance of being in it by the states of the paths."""

    __slots__ = ("course", "key", "masses", "watch")

    def __init__(self, course: Course, watch: Watch, masses: Masses) -> None:
        self.course, self.watch, self.masses = course, watch, masses
        self.key: tuple[Any, ...] = ()

    @property
    def mass(self) -> Fraction:
        return sum(self.masses.values(), NONE)

    def same(self, other: _Branch) -> bool:
        """Whether both have the same future and the same memory of the past.  The instant itself does not matter."""
        mine, theirs = self.course, other.course
        return (
            mine.world.facts()[1:] == theirs.world.facts()[1:]
            and (mine.judge is None or theirs.judge is None or mine.judge.states == theirs.judge.states)
            and self.watch.facts() == other.watch.facts()
        )


class Tree:
    """Explores one story.  `least`: a branch of less chance is left out; `more()` says whether there is time."""

    def __init__(self, plant: Plant, channels: Mapping[str, Channel], least: Fraction = NONE,
                 more: Callable[[], bool] = lambda: True) -> None:
        self.least, self.more = least, more
        self.paths = [(k, part) for k, part in enumerate(plant.parts) if type(part) is RadioPath]
        self.channels = [channels[part.name] for _, part in self.paths]
        if any(part.loss > 0 for _, part in self.paths):
            raise ModelError("a path that draws its losses is no path to fork at")
        self.delays = [plant.streams[k][SPREAD][1] for k, _ in self.paths]
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
        self._push(_Branch(course, watch, masses))
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
        for states, mass in branch.masses.items():
            for is_lost, bad, chance in self.channels[place].frame(states[place]):
                then = (*states[:place], bad, *states[place + 1:])
                into = lost if is_lost else heard
                into[then] = into.get(then, NONE) + mass * chance
        self.frames += 1
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
        return [branch, _Branch(other, branch.watch.copy(other), lost)]

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
