"""Which orders of instants a run depends on, and which it does not.

A traced run decides at every instant which one comes next, and each such decision would end the interval of moments
for which it speaks: a fault at the front edge, put off until after a check-in of the rear one, would be another run.
But two instants that have no part, fault or monitor in common may change places, and nothing else changes: the same
parts see the same inputs at the same instants of their own.  So a run notes its *footprints*, what each of its
instants has touched, decides the order of instants without a claim, and claims afterwards only the orders of those
pairs that have something in common (the traces of a concurrent system, after Mazurkiewicz: from memory).

What was not played counts too.  Of the nominal story the footprints are noted once.  What lies after the end of a run
happens as in the nominal story unless it has something in common with what went otherwise; there the claim ends.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

from gatesim.errors import GatesimError
from gatesim.plant.fault import FaultBegins
from gatesim.plant.world import Plant
from gatesim.requirements.verdict import Outcome
from gatesim.run import Course
from gatesim.search.classes import AWAITED, INTERRUPTED, TOUCHED
from gatesim.search.ground import LATE, Ground, course_of
from gatesim.search.noting import (
    EVERYTHING,
    WATCH,
    Footprint,
    NotedCourse,
    Noting,
    moves,
    moves_with,
    tie,
    value_of,
)
from gatesim.search.path import Path
from gatesim.search.traced import Traced
from gatesim.units import FOREVER


class Ending(NamedTuple):
    """What was still to come when a run had ended: of each part, of the faults, and from outside."""

    last: Any
    known: float
    """Until when the nominal story was lived along: of a trail that is put off, until when it was there."""
    due: dict[int, Any]
    other: tuple[Any, ...]

    @classmethod
    def of(cls, course: NotedCourse) -> Ending:
        """That of a course."""
        world = course.world
        last = course.footprints[-1].at if course.footprints else world.now
        other = [fault.due for fault in world.faults if moves(fault.due) or fault.due <= course.ends]
        other += [due.at for due in course.to_come[course.next_due:] if moves(due.at)]
        due = {part: at for part, at in world.due.items() if moves(at) or at <= course.ends}
        return cls(last, value_of(last), due, tuple(other))

    def shifted(self, put: Callable[[Any], Any]) -> Ending:
        """The same at another moment."""
        return Ending(put(self.last), self.known, {part: put(at) for part, at in self.due.items()},
                      tuple([put(at) for at in self.other]))


class Nominal(NamedTuple):
    """The footprints of the nominal story, in order."""

    at: tuple[float, ...]
    touched: tuple[int, ...]


class Noted:
    """What the traced runs of one ground need to claim orders: the plant that notes, and the nominal footprints."""

    def __init__(self, plant: Plant, site: Any, seed: int, ground: Ground) -> None:
        self._noting = Noting(plant)
        course = course_of(plant, site, seed, ground.agenda, ground.ends + LATE)
        judge = course.judge
        assert judge is not None
        noted = self.course(course, Path())
        try:
            while noted.next() <= ground.ends:
                noted.live(noted.next())
        except GatesimError:
            # Where the story breaks off nothing is known any more.
            noted.footprints.append(Footprint(noted.world.now, EVERYTHING))
        at, touched = zip(*noted.footprints, strict=True)
        self.nominal = Nominal(at, touched)
        verdicts = judge.verdicts(noted.world.now)
        looked_at = {*AWAITED, *TOUCHED, *INTERRUPTED}
        looked_at |= {name for name, one in verdicts.items() if one.outcome is Outcome.FAIL}
        self.read = WATCH | sum({1 << self._noting.first_monitor + k for k, one in enumerate(judge.monitors)
                         if one.id in looked_at})
        """What the class of a run rests on: the monitors of reactions, and whatever fails without any fault."""

    def course(self, course: Course, path: Path) -> NotedCourse:
        """The same course, so that it leaves footprints."""
        noting = self._noting
        course.to_come = tuple([
            due._replace(stimulus=noting.noted(due.stimulus)) if type(due.stimulus) is FaultBegins else due
            for due in course.to_come])
        for active in course.world.faults:
            active.fault = noting.fault(active.fault)
        return NotedCourse(course, noting, path)

    def claim(self, course: NotedCourse, moment: Traced, ending: Ending, *, everything: bool) -> bool:
        """Claim the orders that matter to a finished run; `everything`: its end rests on the whole world.

        Narrows the path to the moments for which its instants keep them.  False where they are not even kept at its
        own: then it is no run.
        """
        read = EVERYTHING if everything else self.read
        orders = _Orders([*course.footprints, Footprint(ending.last, read)], moment.path)
        try:
            orders.of_what_was_played()
            orders.with_the_past(self.nominal, moment.value)
            orders.with_the_future(self.nominal, moment.value)
            orders.with_what_comes(self.nominal, ending)
        except _OutOfOrder:
            return False
        return True


class _OutOfOrder(Exception):
    """Two instants do not come in the order that is to be claimed."""


class _Orders:
    """The footprints of a run: those that move with the moment, and those that stand still."""

    def __init__(self, played: Sequence[Footprint], path: Path) -> None:
        self.path = path
        self.moving = [one for one in played if type(one.at) is Traced]
        self.still = [one for one in played if type(one.at) is not Traced]
        self.moved = self.otherwise = 0
        """What those that move have touched; and all that went otherwise than in the nominal story, or may have."""
        for one in played:
            if type(one.at) is Traced:
                self.moved |= one.touched
                self.otherwise |= one.touched
            elif one.touched & self.otherwise:
                self.otherwise |= one.touched

    def of_what_was_played(self) -> None:
        """What was played, among itself.  Of those that stand still the next ones are enough."""
        times = [one.at for one in self.still]
        for k, one in enumerate(self.moving):
            for other in self.moving[:k]:
                if one.touched & other.touched and not moves_with(one.at, other.at):
                    self.keep(other.at, one.at)
            near = bisect_left(times, one.at.value)
            self._first(one, reversed(self.still[:near]), later=False)
            self._first(one, self.still[near:], later=True)

    def _first(self, one: Footprint, others: Any, later: bool) -> None:
        for other in others:
            if other.touched & one.touched:
                self.keep(*((one.at, other.at) if later else (other.at, one.at)))
                return

    def with_the_past(self, nominal: Nominal, moment: float) -> None:
        """What lies before the moment and has something in common with what comes of it."""
        for k in range(bisect_left(nominal.at, moment) - 1, -1, -1):
            if nominal.at[k] < moment + self.path.lo * self._steepest(-self.path.lo):
                return
            if nominal.touched[k] & self.moved:
                for one in self.moving:
                    if one.touched & nominal.touched[k]:
                        self.keep(nominal.at[k], one.at)

    def with_the_future(self, nominal: Nominal, moment: float) -> None:
        """What would have happened after the moment, and has something in common with what came of it, whether it was
        played or not: put off beyond it, it would have happened."""
        left = self.moving
        for k in range(bisect_left(nominal.at, moment), len(nominal.at)):
            at, touched = nominal.at[k], nominal.touched[k]
            if not left or at > left[-1].at.value + self.path.hi * self._steepest(self.path.hi):
                return
            if touched & self.moved:
                met = [one for one in left if one.touched & touched and one.at.value < at]
                for one in met:
                    self.keep(one.at, at)
                left = [one for one in left if one not in met] if met else left

    def _steepest(self, far: float) -> float:
        """So many times as far as the moment, at most, anything moves within what is claimed so far."""
        if far == FOREVER:
            return 1.0
        return max([one.at.slope + (abs(one.at.bend) + one.at.err * far) * far for one in self.moving], default=1.0)

    def with_what_comes(self, nominal: Nominal, ending: Ending) -> None:
        """Nothing may come to where it is not known what happens: where the nominal story, or a part that went
        otherwise, goes on after the end of the run; and what moves and was not played stays after the end."""
        last = ending.last
        coming: list[Any] = [at for part, at in ending.due.items() if self.otherwise >> part & 2]
        coming += ending.other
        for k in range(bisect_right(nominal.at, ending.known), len(nominal.at)):
            if nominal.touched[k] & self.otherwise:
                coming.append(nominal.at[k])
                break
        for bound in coming:
            if type(bound) is Traced and (type(last) is not Traced or not moves_with(last, bound)):
                self.keep(last, bound)
            for one in self.moving:
                if type(bound) is not Traced or not moves_with(one.at, bound):
                    self.keep(one.at, bound)

    def keep(self, early: Any, late: Any) -> None:
        """Claim that this is the order; where both are one instant, only of the moment itself."""
        if value_of(early) == value_of(late):
            tie(self.path, early, late)
        elif not early < late:
            raise _OutOfOrder
