"""Running a scenario: the shell around the event kernel.

The only importer of simpy, and all that simpy does is say when.  `Course` is one line of a story: a world, what is
still to
come, the judge, and where the trace goes.  A twin is a fork of a course at a first touch, with the other means held
silent.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import cache
from typing import Any, ClassVar, NamedTuple

from gatesim.events import ContactBegan, FoundBy, PowerLost, PowerReturned, Run, Stamped
from gatesim.plant.build import built
from gatesim.plant.fault import FaultBegins, Steady
from gatesim.plant.logic.contract import Roles
from gatesim.plant.part import Wire
from gatesim.plant.wires import BeamPath, ForceTrip, StripPressed
from gatesim.plant.world import Plant, World, instant
from gatesim.requirements.catalogue import requirements
from gatesim.requirements.judging import Judge, Row, compare
from gatesim.requirements.verdict import Outcome, Verdict
from gatesim.scenario.agenda import Due, agenda
from gatesim.scenario.model import Scenario
from gatesim.spool import Spool
from gatesim.trace import Section

Taken = Callable[[int, float, Any], None]
"""Who takes the events of a course: (number, instant, event)."""


class _Silence(Steady):
    """Holds a means silent in a twin run."""

    id: ClassVar[str] = "silence"
    title: ClassVar[str] = "held silent"
    found: ClassVar[FoundBy] = FoundBy.NEVER
    acts_on_begin: ClassVar[bool] = False

    def places(self, site: Any) -> tuple[()]:
        return ()

    def passes(self, state: Any, value: Any, now: float) -> bool:
        return False


class Course:
    """One line of a story, with what is still to come.  `copy` makes a fork."""

    __slots__ = ("count", "ends", "judge", "next_due", "plant", "takes", "to_come", "world")

    def __init__(self, plant: Plant, world: World, to_come: tuple[Due, ...], ends: int, judge: Judge | None,
                 takes: Taken) -> None:
        self.plant, self.world, self.to_come, self.ends = plant, world, to_come, ends
        self.judge, self.takes = judge, takes
        self.next_due = 0
        self.count = 0

    def copy(self, judge: Judge | None, takes: Taken) -> Course:
        """An independent future of the same world, with its own judge and taker."""
        new = Course(self.plant, self.world.copy(), self.to_come, self.ends, judge, takes)
        new.next_due, new.count = self.next_due, self.count
        return new

    def next(self) -> float:
        """The next instant at which anything happens (beyond `ends`: nothing more)."""
        outside = self.to_come[self.next_due].at if self.next_due < len(self.to_come) else self.ends + 1
        inside = self.world.deadline()
        return inside if inside < outside else outside

    def live(self, now: float, extra: tuple[Any, ...] = ()) -> list[Any]:
        """Live through one instant and give its events to the judge and the taker."""
        happened = self.happen(now, extra)
        self.tell(now, happened)
        return happened

    def happen(self, now: float, extra: tuple[Any, ...] = ()) -> list[Any]:
        """One instant of the world, with what comes from outside."""
        stimuli: list[Any] = list(extra)
        while self.next_due < len(self.to_come) and self.to_come[self.next_due].at <= now:
            stimuli.append(self.to_come[self.next_due].stimulus)
            self.next_due += 1
        return instant(self.plant, self.world, now, stimuli)

    def tell(self, now: float, happened: list[Any]) -> None:
        """Give the events of an instant to the judge and the taker."""
        judge, takes, number = self.judge, self.takes, self.count
        wanted: Mapping[type, object] = {}
        if judge is not None and happened:
            judge.now, wanted = now, judge.wanted
        for event in happened:
            if type(event) in wanted:
                judge.see(number, now, event)  # type: ignore[union-attr]
            takes(number, now, event)
            number += 1
        self.count = number

    def play(self) -> Iterator[tuple[Any, list[Any]]]:
        """Live to the end without any event kernel (forks and replays)."""
        while (now := self.next()) <= self.ends:
            yield now, self.live(now)


def pace(course: Course, at_each: Callable[[float, list[Any]], None]) -> None:
    """Live to the end on simpy's clock.  The instants are the course's own, exact; simpy only says when."""
    import simpy

    environment = simpy.Environment()
    timeout, ends = environment.timeout, course.ends

    now = course.next()

    def live(_: Any) -> None:
        nonlocal now
        at_each(now, course.live(now))
        now = course.next()
        arm()

    def arm() -> None:
        if now <= ends:
            clock = environment.now
            # A callback and no process: simpy makes the exception of a process anew, and would lose what it carries.
            timeout(now - clock if now > clock else 0).callbacks.append(live)

    arm()
    environment.run()


class Pacer:
    """simpy's clock moved by somebody who has a clock of their own (a wall clock), in our own loop of peek and step.

    `due` is when to come back at the latest; what comes from outside in between is lived through by `outside`.
    """

    def __init__(self, course: Course, at_each: Callable[[float, list[Any]], None]) -> None:
        import simpy

        self.course, self._at_each = course, at_each
        self._environment = simpy.Environment()
        self._armed = 0
        self._arm()

    def due(self) -> float:
        """The instant (us) of the next event; it may lead to nothing where plans have changed since."""
        return self._environment.peek()

    def until(self, now: float) -> None:
        """Live through everything that is due until now, each thing at its own instant."""
        while self._environment.peek() <= now:
            self._environment.step()

    def outside(self, now: float, *stimuli: Any) -> None:
        """Live through an instant that comes from outside, after all that was due."""
        self.until(now)
        now = max(now, self.course.world.now)
        self._at_each(now, self.course.live(now, stimuli))
        self._arm()

    def _arm(self) -> None:
        """Ask to be called at the course's next instant; simpy can't cancel what was asked before: it is numbered."""
        self._armed += 1
        number, at, clock = self._armed, self.course.next(), self._environment.now
        if at <= self.course.ends:
            timeout = self._environment.timeout(at - clock if at > clock else 0)
            timeout.callbacks.append(lambda _: self._live(number))

    def _live(self, number: int) -> None:
        if number == self._armed:
            now = self.course.next()
            self._at_each(now, self.course.live(now))
            self._arm()


class RunResult(NamedTuple):
    """What came of a scenario.  `sections` are empty where the trace was not kept."""

    scenario: Scenario
    seed: int
    sections: tuple[Section, ...]
    rows: tuple[Row, ...]
    differs: bool


def silences(plant: Plant, run: Run) -> tuple[FaultBegins, ...]:
    """What holds the other means silent in a twin run; what enters a ray at the touch or later is seen in neither."""
    kinds: tuple[type[Wire], ...] = (ForceTrip if run is Run.EDGE_ALONE else StripPressed, BeamPath)
    wires = [wire for wire in plant.names if type(wire) in kinds]
    return tuple(FaultBegins(f"silence of {wire}", _Silence(), wire, wire.of, None) for wire in wires)


def _recorder(events: list[Stamped]) -> Taken:
    def take(_: int, at: float, event: Any) -> None:
        events.append(Stamped(at, event))

    return take


def _forget(_: int, at: float, event: Any) -> None:
    """The trace is not kept."""


TWINS = (Run.EDGE_ALONE, Run.FORCE_ALONE)


class _Twins:
    """Forks at each first touch; keeps what they recorded and what was judged."""

    def __init__(self, course: Course, judge: Judge, keep: bool) -> None:
        self.course, self.judge, self.keep = course, judge, keep
        self.sections: dict[Run, list[Section]] = {run: [] for run in TWINS}
        self.verdicts: dict[Run, list[tuple[Run, dict[str, Verdict]]]] = {run: [] for run in TWINS}

    def fork(self, now: float) -> None:
        """Play both twins from here to where the contact's verdict is settled."""
        for run in TWINS:
            judge = self.judge.twin(run)
            events: list[Stamped] = []
            twin = self.course.copy(judge, _recorder(events) if self.keep else _forget)
            after, ends = twin.count, now
            twin.live(now, silences(twin.plant, run))
            for at, _ in twin.play():
                ends = at
                if judge.settled():
                    break
            else:
                ends = twin.ends
            self.verdicts[run].append((run, judge.verdicts(ends)))
            self.sections[run].append(Section(run, after, now, tuple(events), ends))


def run_scenario(scenario: Scenario, roles: Roles, *, seed: int | None = None, keep: bool = True) -> RunResult:
    """Run a scenario with this logic and judge it by every requirement.

    The trace is kept in little memory (`Spool`), or, with `keep` False, not at all.  Raises ModelError or LogicError.
    """
    return run_story(scenario, agenda(scenario), roles, seed=scenario.seed if seed is None else seed, keep=keep)


def run_story(scenario: Scenario, to_come: tuple[Due, ...], roles: Roles, *, seed: int, keep: bool = True) -> RunResult:
    """The same with what comes from outside given as stimuli, not as the scenario's own steps."""
    used = seed
    plant = built(scenario.site, roles)
    judge = Judge.begin(scenario.site, scenario.expect)
    events = Spool()
    take = events.take if keep else _forget
    course = Course(plant, World(plant, used), to_come, scenario.ends, judge, take)
    twins = _Twins(course, judge, keep)

    def at_each(now: float, happened: list[Any]) -> None:
        for event in happened:
            if type(event) is ContactBegan:
                twins.fork(now)
                break

    pace(course, at_each)
    whole = Section(Run.WHOLE, 0, None, events, scenario.ends)
    # In the order of the trace file: whole run, edge alone, force alone.
    sections = (whole, *(section for run in TWINS for section in twins.sections[run]))
    verdicts = judge.verdicts(scenario.ends)
    if not getattr(roles.controller, "power_cycles", True):
        verdicts |= dict.fromkeys(of_power_loss(), Verdict(Outcome.NOT_EXERCISED, reason=NOT_CYCLED))
    judged = [(Run.WHOLE, verdicts), *(pair for run in TWINS for pair in twins.verdicts[run])]
    rows = compare(scenario.site, scenario.expect, judged)
    return RunResult(scenario, used, sections, rows, any(row.differs for row in rows))


NOT_CYCLED = "the controller can't be started anew: it went on through the power loss"


def of_power_loss() -> tuple[str, ...]:
    """The requirements that look for what comes back after a power loss."""
    return tuple([name for name, one in requirements().items() if {PowerLost, PowerReturned} <= set(one.needs)])


@cache
def default_roles() -> Roles:
    """The reference logic in all three roles (it keeps nothing: what it remembers is in the world)."""
    from gatesim.plant.logic.classifier_reference import ReferenceClassifier
    from gatesim.plant.logic.controller_reference import ReferenceController
    from gatesim.plant.logic.receiver_reference import ReferenceReceiver

    return Roles(ReferenceClassifier(), ReferenceReceiver(), ReferenceController())
