"""What a run left behind, for the next one to join.

Two runs of neighbouring regions differ in little: two instants change places, and soon after both worlds are the same
again, as functions of the moment.  What follows need not be lived twice: the later run takes over what the earlier one
decided, touched and came to, put for its own moment.  It may do so where every later decision and every order that
matters falls the same way for its own moment as well.

A moment differs from the one of the trail by `d` and by `k` whole periods: a traced number of the trail stands there
for value + slope d + bend d^2 + turn k.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from gatesim.plant.world import World
from gatesim.run import Course
from gatesim.search.classes import Reaction, Told
from gatesim.search.noting import Footprint, NotedCourse
from gatesim.search.ordering import Ending, Noted
from gatesim.search.path import Decision, Path
from gatesim.search.traced import Traced
from gatesim.units import FOREVER

LONGEST = 400
"""Instants of a run that are remembered."""
DENSE = 40
"""So many of them every second one; of the later ones every eighth."""
LATE = 12
"""A run that had to live through more instants than this leaves a trail of its own."""


class Step(NamedTuple):
    """A world as it stood after an instant, all that was to be known of the run so far, and how much was decided."""

    world: World
    states: list[Any]
    facts: tuple[Any, ...]
    decisions: int
    footprints: int


class Shift(NamedTuple):
    """From one moment to another: `d` and whole periods `k`."""

    d: float
    k: int

    def of(self, number: Any, path: Path) -> Any:
        """What a number of the trail is at the other moment."""
        if type(number) is not Traced:
            return number
        return Traced(number.at(self.d, self.k), number.slope + 2 * number.bend * self.d, number.turn, path,
                      number.err, number.bend)

    def same(self, new: Any, old: Any) -> bool:
        """Whether a number of the later run is one of the trail.  What was left out of neither is known."""
        if type(new) is not Traced or type(old) is not Traced or new.err != 0 or old.err != 0:
            return False
        return (abs(new.value - old.at(self.d, self.k)) < EQUAL and new.bend == old.bend and new.turn == old.turn
                and new.slope == old.slope + 2 * old.bend * self.d)


EQUAL = 1e-6
"""Nearer to each other (us, um) than this two numbers differ by their rounding only."""


class Trail:
    """A finished run: its steps by the instants after which they stood, and all that came of it."""

    def __init__(self, moment: Traced, course: NotedCourse, steps: dict[int, Step], told: Told, ending: Ending) -> None:
        self.moment, self.period, self.told, self.ending = moment.value, moment.turn, told, ending
        self.path = moment.path
        self.footprints = course.footprints
        self.steps = steps
        self.keys = {key: k for k in steps if (key := _key(course.footprints[k].at, None)) is not None}
        self._backward = sorted(steps, reverse=True)
        self._decisions = _suffixes(self.path.decisions or [], {k: step.decisions for k, step in steps.items()})

    def shifts(self, moment: Traced) -> Iterator[Shift]:
        """The ways to put this trail for another moment."""
        ahead = moment.value - self.moment
        yield Shift(ahead, 0)
        if not self.path.turnless:
            k = int(ahead // self.period)
            for turns in {k, k + 1} - {0}:
                yield Shift(ahead - turns * self.period, turns)

    def holds_from(self, shift: Shift) -> int:
        """After which of its instants all that follows is the same at the other moment; -1 for none."""
        found = -1
        d, k = shift
        for step in self._backward:
            if not all(one.holds(d, k) for one in self._decisions[step]):
                break
            found = step
        return found if found < 0 else self._in_order_from(shift, found)

    def _in_order_from(self, shift: Shift, least: int) -> int:
        """The same for the orders of instants that have something in common."""
        d, k = shift
        marks = self.footprints
        moved = [one.at.at(d, k) if type(one.at) is Traced else one.at for one in marks]
        highest, tops = -FOREVER, []
        for at in moved:
            tops.append(highest)
            highest = at if at > highest else highest
        for late in range(len(moved) - 1, 0, -1):
            if moved[late] > tops[late]:
                continue
            for early in range(late):
                if moved[early] >= moved[late] and marks[early].touched & marks[late].touched:
                    return min([step for step in self._backward if step >= max(late, least)], default=-1)
        return least

    def joined(self, course: NotedCourse, at: int, shift: Shift, moment: Traced) -> tuple[Told, Ending]:
        """Go on as the trail did from one of its instants: decisions, footprints, and what came of it."""
        path = moment.path
        for one in self._decisions[at]:
            one.again(path, shift.d, shift.k)
        if self.path.turnless:
            path.turnless = True
        course.footprints += [Footprint(shift.of(one.at, path), one.touched)
                              for one in self.footprints[self.steps[at].footprints:]]
        told = self.told
        if told.reaction is not None:
            told = told._replace(reaction=Reaction(told.reaction.requirement, shift.of(told.reaction.measured, path),
                                                   told.reaction.limit))
        return told, self.ending.shifted(lambda number: shift.of(number, path))


class Follower:
    """Lives along a trail: says when a course has come to where the trail was."""

    def __init__(self, trail: Trail | None, moment: Traced) -> None:
        self.trail, self.moment = trail, moment
        self.ways = [] if trail is None else [
            (shift, least) for shift in trail.shifts(moment) if (least := trail.holds_from(shift)) >= 0]
        """The shifts by which it may be joined, and after which of the trail's instants."""

    def met(self, course: Course, now: Any, facts: tuple[Any, ...]) -> tuple[int, Shift] | None:
        """The instant of the trail after which everything stood as it stands now, and by which shift."""
        for shift, least in self.ways:
            assert self.trail is not None
            key = _key(now, shift)
            k = -1 if key is None else self.trail.keys.get(key, -1)
            if k >= least and self._same(course, facts, self.trail.steps[k], shift):
                return k, shift
        return None

    def _same(self, course: Course, facts: tuple[Any, ...], step: Step, shift: Shift) -> bool:
        judge, path = course.judge, self.moment.path
        assert judge is not None
        assert self.trail is not None
        # Both, for a plain number beside a traced one leaves the answer to that.
        path.same = self.trail.path.same = shift.same
        same = facts == step.facts and course.world == step.world and judge.states == step.states
        path.same = self.trail.path.same = None
        return same


class Along:
    """A traced run on its way: it joins the trail of an earlier one where it can, and else leaves one of its own."""

    def __init__(self, noted: Noted, trail: Trail | None, moment: Traced, *, keeps: bool) -> None:
        self.noted, self.left, self.moment = noted, trail, moment
        """`left`: the trail that the next run may join."""
        self._follower = Follower(trail, moment)
        self._steps: dict[int, Step] | None = {} if keeps else None
        moment.path.decisions = [] if keeps else None
        self.lived = 0
        """Instants lived through."""
        self.said: Told | None = None
        """What it comes to, once it has joined."""

    def after(self, course: Course, now: Any, facts: tuple[Any, ...]) -> bool:
        """After an instant: whether the rest need not be lived."""
        assert isinstance(course, NotedCourse)
        k, self.lived = self.lived, self.lived + 1
        met = self._follower.met(course, now, facts)
        if met is not None and self._joins(course, *met):
            return True
        if self._steps is not None and k < LONGEST and k % _every(k) == 0:
            self._steps[k] = step_of(course, facts, self.moment.path)
        return False

    def _joins(self, course: NotedCourse, at: int, shift: Shift) -> bool:
        """Take over what the trail came to, unless the orders of instants forbid it."""
        trail, path = self._follower.trail, self.moment.path
        assert trail is not None
        kept, count, decisions = path.kept(), len(course.footprints), path.decisions
        path.decisions = None
        said, ending = trail.joined(course, at, shift, self.moment)
        if self.noted.claim(course, self.moment, ending, everything=False):
            self.said = said
            return True
        path.back(kept)
        path.decisions = decisions
        del course.footprints[count:]
        self._follower.ways = [way for way in self._follower.ways if way[0] != shift]
        return False

    def ended(self, course: NotedCourse, said: Told) -> Told:
        """The run has ended: claim its orders, and leave a trail."""
        path = self.moment.path
        if self.said is not None:
            return said
        ending = Ending.of(course)
        if self._steps and not said.broken and not path.left:
            self.left = Trail(self.moment, course, self._steps, said, ending)
        path.decisions = None
        if not self.noted.claim(course, self.moment, ending, everything=said.broken):
            path.leaves("an order of instants that is none")
        return said


def _every(k: int) -> int:
    """How close together the instants are that are remembered."""
    return 1 if k < 6 else 2 if k < DENSE else 8


def step_of(course: NotedCourse, facts: tuple[Any, ...], path: Path) -> Step:
    """The world as it stands."""
    judge = course.judge
    assert judge is not None
    assert path.decisions is not None
    return Step(course.world.copy(), [state.copy() for state in judge.states], facts, len(path.decisions),
                len(course.footprints))


def _key(at: Any, shift: Shift | None) -> tuple[float, float, int] | None:
    """An instant as a function of the moment, put back by a shift."""
    if type(at) is not Traced:
        return (0.0, 0.0, round(at * 1000))
    if at.err != 0 or at.bend != 0:
        return None
    value = at.value if shift is None else at.value - at.slope * shift.d - at.turn * shift.k
    return (at.slope, at.turn, round(value * 1000))


def _suffixes(decisions: list[Decision], starts: dict[int, int]) -> dict[int, list[Decision]]:
    """For each step, what was decided after it: of decisions alike in all but their value the closest one."""
    found: dict[int, list[Decision]] = {}
    closest: dict[tuple[Any, ...], Decision] = {}
    end = len(decisions)
    for k in sorted(starts, reverse=True):
        for one in decisions[starts[k]:end]:
            key = one.kind()
            known = closest.get(key)
            if known is None or abs(one.value) < abs(known.value):
                closest[key] = one
        end = starts[k]
        found[k] = list(closest.values())
    return found
