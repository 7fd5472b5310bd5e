"""Footprints: what the instants of a traced run touch (see `ordering`, which says what for)."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

from gatesim import events as e
from gatesim.plant.fault import FaultBegins, FaultEnds
from gatesim.plant.part import Wire
from gatesim.plant.world import Plant
from gatesim.run import Course
from gatesim.search.path import Path
from gatesim.search.traced import Traced

NUMBERS = 1 << 30
"""The events of a run that leaves footprints are counted from here: those that monitors want, and no others, so that
their numbers do not tell how many others went before."""
WATCHED = (e.WireDisturbed, e.LeafStopped, e.LeafStarted, e.OrdersChanged)
"""What the one who watches a run for its end looks at."""
WATCH = 1
"""The bit of the one who watches, whose eyes open when the fault comes."""
EVERYTHING = -1
"""The footprint of what looks at the whole world."""


class Footprint(NamedTuple):
    """An instant, and the parts, faults and monitors that it touched, as bits."""

    at: Any
    touched: int


class Ink:
    """What the instant that is lived has touched so far, and the path that its decisions narrow."""

    __slots__ = ("path", "touched")

    def __init__(self) -> None:
        self.touched = 0
        self.path = Path()


class NotedFault:
    """A fault that leaves a footprint whenever it is asked.  What it decides counts; who comes next does not."""

    def __init__(self, fault: Any, ink: Ink, bit: int) -> None:
        self.fault, self._ink, self._bit = fault, ink, bit

    def __getattr__(self, name: str) -> Any:
        return getattr(self.fault, name)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, NotedFault) and self.fault == other.fault

    def __hash__(self) -> int:
        return hash(self.fault)

    def passes(self, *given: Any) -> Any:
        return self._asked(self.fault.passes, given)

    def relays(self, *given: Any) -> Any:
        return self._asked(self.fault.relays, given)

    def tick(self, *given: Any) -> Any:
        return self._asked(self.fault.tick, given)

    def deadline(self, *given: Any) -> Any:
        return self._asked(self.fault.deadline, given)

    def _asked(self, asks: Callable[..., Any], given: tuple[Any, ...]) -> Any:
        path = self._ink.path
        self._ink.touched |= self._bit
        was, path.ordering = path.ordering, False
        answer = asks(*given)
        path.ordering = was
        return answer


def _noting(react: Callable[..., Any], bit: int, ink: Ink) -> Callable[..., Any]:
    """A part that leaves its footprint.  What it decides counts; who comes next does not."""

    def reacts(state: Any, now: Any, seen: Any, out: Any) -> Any:
        ink.touched |= bit
        path = ink.path
        path.ordering = False
        at = react(state, now, seen, out)
        path.ordering = True
        if at <= now:
            # It wants this very instant once more: that this does not come later is a decision.
            path.ordering = False
            at <= now  # noqa: B015 - asked for the claim
            path.ordering = True
        return at

    return reacts


class Noting:
    """A plant whose instants leave footprints."""

    def __init__(self, plant: Plant) -> None:
        self.ink = Ink()
        self.plant: Plant = object.__new__(Plant)
        for name in Plant.__slots__:
            setattr(self.plant, name, getattr(plant, name))
        self.plant.calls = tuple([
            (_noting(call[0], 2 << k, self.ink), *call[1:]) for k, call in enumerate(plant.calls)])
        self._writers = {wire: 2 << k for k, call in enumerate(plant.calls) for wire, _, _ in call[3]}
        self._fault = 2 << len(plant.calls)
        self.first_monitor = len(plant.calls) + 2
        """The place of the first monitor's bit."""

    def noted(self, begins: FaultBegins) -> FaultBegins:
        """The same fault, so that it leaves footprints."""
        return begins._replace(fault=self.fault(begins.fault))

    def fault(self, fault: Any) -> Any:
        """The same of the fault itself."""
        return fault if type(fault) is NotedFault else NotedFault(fault, self.ink, self._fault)

    def on_wire(self, wire: Wire) -> int:
        """What a fault touches that begins or ends on this wire: who writes it, who reads it, and the faults."""
        index = self.plant.wires[wire]
        return self._writers[index] | self.plant.sinks[index] << 1 | self._fault | WATCH


class NotedCourse(Course):
    """A course that leaves footprints."""

    __slots__ = ("footprints", "noting")

    def __init__(self, course: Course, noting: Noting, path: Path) -> None:
        super().__init__(noting.plant, course.world, course.to_come, course.ends, course.judge, course.takes)
        self.next_due, self.count = course.next_due, NUMBERS
        self.noting = noting
        self.footprints: list[Footprint] = []
        noting.ink.path = path

    def next(self) -> Any:
        path = self.noting.ink.path
        path.ordering = True
        now = super().next()
        path.ordering = False
        return now

    def happen(self, now: Any, extra: tuple[Any, ...] = ()) -> list[Any]:
        ink = self.noting.ink
        ink.touched = 0
        ink.path.ordering = True
        self._arriving(now)
        happened = super().happen(now, extra)
        ink.path.ordering = False
        return happened

    def _arriving(self, now: Any) -> None:
        """What comes from outside now; and whether all that is due now is due at this very instant for every moment."""
        ink, moving = self.noting.ink, type(now) is Traced
        value = now.value if moving else now
        due = list(self.world.due.values())
        due += [fault.due for fault in self.world.faults]
        for one in self.to_come[self.next_due:]:
            if not one.at <= now:
                break
            due.append(one.at)
            ink.touched |= self._of_fault(one.stimulus)
        for at in due:
            if (moving or moves(at)) and value_of(at) == value and not moves_with(at, now):
                tie(ink.path, at, now)

    def _of_fault(self, stimulus: Any) -> int:
        if type(stimulus) is FaultBegins:
            return self.noting.on_wire(stimulus.wire)
        touched = 0
        if type(stimulus) is FaultEnds:
            for fault in self.world.faults:
                if fault.key == stimulus.key:
                    touched |= self.noting.on_wire(self.plant.names[fault.wire])
        return touched

    def tell(self, now: Any, happened: list[Any]) -> None:
        judge, touched = self.judge, self.noting.ink.touched
        if any(type(event) in WATCHED for event in happened):
            touched |= WATCH
        if judge is not None:
            touched |= _monitors(judge.wanted, happened) << self.noting.first_monitor
            happened = [event for event in happened if type(event) in judge.wanted]
        self.footprints.append(Footprint(now, touched))
        super().tell(now, happened)


def _monitors(wanted: Any, happened: list[Any]) -> int:
    """The monitors that want any of these events, as bits."""
    touched = 0
    for event in happened:
        for k, _ in wanted.get(type(event), ()):
            touched |= 1 << k
    return touched


def tie(path: Path, one: Any, other: Any) -> None:
    """Two instants were lived as one: only the moment itself is like it."""
    was, path.ordering = path.ordering, False
    one == other  # noqa: B015 - asked for the claim
    path.ordering = was
    path.within(0.0)


def moves(at: Any) -> bool:
    return type(at) is Traced


def value_of(at: Any) -> Any:
    return at.value if type(at) is Traced else at


def moves_with(one: Any, other: Any) -> bool:
    """Whether two instants are as far apart at every moment."""
    if type(one) is not Traced or type(other) is not Traced:
        return False
    same = (one.slope, one.bend, one.turn) == (other.slope, other.bend, other.turn)
    return same and (one.err == 0 == other.err or (one.value, one.err) == (other.value, other.err))
