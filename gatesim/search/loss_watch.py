"""What came of one branch of a story in which frames are lost: a watch for each kind of story."""

from __future__ import annotations

from typing import Any, NamedTuple

from gatesim import events as e
from gatesim.events import Lockout
from gatesim.plant.fault import Place
from gatesim.requirements.verdict import Outcome
from gatesim.run import Course
from gatesim.search.classes import AWAITED, TOUCHED, Class, Seen, Told, reaction_in, told
from gatesim.search.ground import Ground
from gatesim.search.probe import LATE_STOP, Watch, guards
from gatesim.units import us

STARTED, REFUSED = "started", "start refused"
UNDISTURBED, BROKEN_OFF, LOCKED = "undisturbed", "broken off", "locked out"
"""What may come of a healthy move first: its order ends before the limit is reached; a direction is locked out while it
goes on; or it comes to its end."""


class Found(NamedTuple):
    """What came of one branch; `measured` and `limit` (us) where a reaction was timed."""

    what: str
    requirement: str = ""
    measured: int | None = None
    limit: int | None = None
    why: str = ""
    """What failed."""


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
        as_press = self.spot.fault.as_press or self.spot.as_press
        seen = Seen(self.moment, self.watch.interrupted, self.watch.stood, as_press,
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
