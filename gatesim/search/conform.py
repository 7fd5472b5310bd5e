"""The conformance kit: everything that gatesim can ask of logic under test, and what it met, missed, or never showed.

A requirement is *missed* where it fails and was not expected to, or is not shown where a scenario expects it to pass;
*met* where it passed and was never missed; *never exercised* where no run gave it an occasion.  Logic that never moved
the gate meets no requirement about motion: that nothing went wrong in a motion that never was shows nothing.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from enum import Enum
from typing import NamedTuple

from gatesim import events as e
from gatesim.errors import BadUsage, LogicError
from gatesim.plant.faults.catalogue import faults
from gatesim.plant.logic.contract import Roles
from gatesim.plant.site import Site
from gatesim.requirements.catalogue import requirements
from gatesim.requirements.judging import Row as Verdict
from gatesim.requirements.verdict import Outcome
from gatesim.run import NOT_CYCLED, default_roles, run_scenario
from gatesim.search.classes import Class
from gatesim.search.ground import Phase
from gatesim.search.laws import Laws
from gatesim.search.logic_cover import LogicCover, cover
from gatesim.search.moments import Coverage
from gatesim.search.sweep import Bench, Order, Row, Task, bench_for, side_by_side
from gatesim.search.trial import Story

MOTION: tuple[type, ...] = (e.LeafStarted, e.LeafStopped, e.MotionChanged, e.ContactorsChanged, e.ContactBegan,
                            e.ForcePeaked, e.ForceRose)
"""A requirement that needs one of these is about motion."""
A_ROW = 1.0
"""Seconds that one row of a sweep may take however little time there is."""
LONG_ROW = 20.0
"""The same where there is all the time."""
STRIDE = 101
"""The sweep goes through its rows in strides, so that one that is ended early has seen something of everything."""
NEVER_MOVED = "the gate was never moved by an order"


class Standing(Enum):
    """What became of a requirement in the whole kit."""

    MISSED = "missed"
    NOT_EXERCISED = "never exercised"
    MET = "met"


class Miss(NamedTuple):
    """Where a requirement was missed, and by which failure; "" where it was not shown."""

    where: str
    failure: str


class Mark(NamedTuple):
    """A requirement and what became of it: the runs that passed, the misses, and why it was never exercised."""

    requirement: str
    standing: Standing
    passed: int
    misses: tuple[Miss, ...]
    why: str = ""


class Played(NamedTuple):
    """A scenario: its verdicts, or how the logic died in it.  `moved`: an order moved the leaf."""

    file: str
    title: str
    rows: tuple[Verdict, ...]
    moved: bool
    died: str = ""

    @property
    def as_expected(self) -> bool:
        """Whether everything came out as the scenario expects."""
        return not self.died and not any(row.differs for row in self.rows)


class Swept(NamedTuple):
    """The sweep: its rows, those that are missed, and those that are the site's own (the reference's are the same)."""

    rows: tuple[Row, ...]
    missed: tuple[Row, ...]
    excused: tuple[Row, ...]
    unreached: int
    """Rows that were not made before time was over."""
    absent: str = ""
    """Why nothing was swept; "" where something was."""
    died: str = ""

    @property
    def partial(self) -> int:
        """Rows of which not every moment was reached, or whose outcome stayed open."""
        return sum(row.outcome is Class.UNDETERMINED or row.coverage is Coverage.INCOMPLETE for row in self.rows)


class Conformance(NamedTuple):
    """What logic under test met, missed, and never showed.  `table`: of its table, or why there is none."""

    site: Site
    seed: int
    played: tuple[Played, ...]
    marks: tuple[Mark, ...]
    swept: Swept
    laws: Laws
    table: LogicCover | str
    seconds: float
    died: str = ""
    """How the logic died in a random story."""

    def standing(self, standing: Standing) -> tuple[Mark, ...]:
        """The requirements of this standing."""
        return tuple([mark for mark in self.marks if mark.standing is standing])

    @property
    def deaths(self) -> tuple[str, ...]:
        """How the logic died, wherever it did."""
        every = (*[one.died for one in self.played], self.swept.died, self.died)
        return tuple(dict.fromkeys(one for one in every if one))

    @property
    def missed(self) -> bool:
        """Whether anything was missed."""
        wrong = not isinstance(self.table, str) and self.table.findings.wrong
        still = not any(one.moved for one in self.played)
        return bool(any(mark.misses for mark in self.marks) or self.swept.missed or self.laws.broken or wrong or still
                    or self.deaths)


# --- scenarios --------------------------------------------------------------------------------------------------------


def played(stories: Iterable[Story], roles: Roles) -> Iterator[Played]:
    """Run each scenario; logic that dies in one is told there, and goes on with the next."""
    for story in stories:
        try:
            result = run_scenario(story.scenario, roles)
        except LogicError as error:
            yield Played(story.file, story.scenario.title, (), moved=False, died=str(error))
            continue
        yield Played(story.file, story.scenario.title, result.rows, _moved(result.sections[0].events))


def _moved(events: Iterable[e.Stamped]) -> bool:
    """Whether the leaf started while a motion was ordered."""
    order = None
    for stamped in events:
        event = stamped.event
        if isinstance(event, e.OrdersChanged):
            order = event.order
        elif isinstance(event, e.LeafStarted) and order is event.direction:
            return True
    return False


def marks(runs: Sequence[Played], laws: Laws) -> tuple[Mark, ...]:
    """What became of each requirement."""
    moved = any(one.moved for one in runs)
    return tuple([_mark(name, runs, laws, moved=moved) for name in requirements()])


def _mark(name: str, runs: Sequence[Played], laws: Laws, *, moved: bool) -> Mark:
    misses, passed, why = [], 0, ""
    for run in runs:
        for row in run.rows:
            if row.requirement != name:
                continue
            passed += row.verdict.outcome is Outcome.PASS
            if row.verdict.reason == NOT_CYCLED:
                why = NOT_CYCLED
            elif row.differs and row.verdict.outcome is Outcome.FAIL:
                misses.append(Miss(run.file, row.verdict.failure or ""))
            elif row.differs and row.expected == "pass":
                misses.append(Miss(run.file, ""))
    misses += [Miss("a random story", one.failure.failure) for one in laws.broken if one.failure.requirement == name]
    if passed and not moved and set(requirements()[name].needs) & set(MOTION):
        passed, why = 0, NEVER_MOVED
    if any(miss.failure for miss in misses) or (misses and passed):
        return Mark(name, Standing.MISSED, passed, tuple(misses), why)
    return Mark(name, Standing.MET if passed else Standing.NOT_EXERCISED, passed, tuple(misses), why)


# --- the sweep --------------------------------------------------------------------------------------------------------


Told = Callable[[Iterator[Row], int], Iterator[Row]]
"""Passes rows on, perhaps with a word on how far it is."""


def swept(order: Order, budget: float | None, jobs: int, told: Told = lambda rows, _: rows,
          kinds: Sequence[str] | None = None) -> Swept:
    """Every fault (or these kinds) at every moment of a move, as far as the time (s) goes; what was not reached is
    no pass."""
    clock = _Clock(budget)
    try:
        bench = bench_for(order)
    except BadUsage as error:
        return Swept((), (), (), 0, absent=str(error))
    except LogicError as error:
        return Swept((), (), (), 0, absent="the logic died", died=str(error))
    tasks = bench.tasks(tuple(faults()) if kinds is None else kinds)
    rows, died = _rows(order, bench, tasks, clock, jobs, told)
    died = died or next((row.worst.why for row in rows if row.worst is not None
                         and row.worst.why.startswith(LogicError.__name__)), "")
    odd = [row for row in rows if row.differs and row.outcome is not Class.UNDETERMINED]
    excused = _excused(order, odd, None if budget is None else budget / 2)
    return Swept(tuple(rows), tuple([row for row in odd if row not in excused]), excused,
                 len(tasks) - len(rows), died=died)


class _Clock:
    """The time (s) of a sweep; None: as long as its rows take."""

    def __init__(self, budget: float | None) -> None:
        self.budget, self._begun = budget, time.perf_counter()

    def is_over(self) -> bool:
        """Whether time is over."""
        return self.budget is not None and time.perf_counter() - self._begun > self.budget

    def share(self, rows: int, jobs: int) -> float:
        """Seconds for one row at most, or nearly: rows take very different times, and logic that can't be traced
        could take for ever."""
        return LONG_ROW if self.budget is None else max(A_ROW, 4 * self.budget * jobs / max(1, rows))


def _rows(order: Order, bench: Bench, tasks: Sequence[Task], clock: _Clock, jobs: int,
          told: Told) -> tuple[list[Row], str]:
    """The rows made before time was over, spread over all kinds and devices, in order; and how the logic died."""
    spread = sorted(tasks, key=lambda task: (task.number * STRIDE % max(1, len(tasks)), task.number))
    share = clock.share(len(tasks), jobs)
    if jobs == 1:
        made: Iterator[Row] = (bench.row(task, share) for task in spread)
    else:
        made = side_by_side(order, spread, share * len(tasks) / jobs, jobs)
    rows: list[Row] = []
    died = ""
    try:
        for row in told(made, len(tasks)):
            rows.append(row)
            if clock.is_over():
                break
    except LogicError as error:
        died = str(error)
    finally:
        getattr(made, "close", lambda: None)()
    rows.sort(key=lambda row: (row.fault, row.device, row.direction.value))
    return rows, died


def _excused(order: Order, odd: Sequence[Row], budget: float | None) -> tuple[Row, ...]:
    """Those rows that are the same with the reference: the site's doing."""
    if not odd:
        return ()
    bench = Bench(order.site, default_roles(), order.seed, (Phase.TRAVEL,))
    places = {(task.fault, task.device, bench.grounds[task.ground].direction): task
              for task in bench.tasks(tuple({row.fault for row in odd}))}
    found, begun = [], time.perf_counter()
    for row in odd:
        if budget is not None and time.perf_counter() - begun > budget:
            break
        task = places.get((row.fault, row.device, row.direction))
        if task is not None and bench.row(task, A_ROW).outcome is row.outcome:
            found.append(row)
    return tuple(found)


# --- the table --------------------------------------------------------------------------------------------------------


def table_cover(stories: Iterable[Story], roles: Roles) -> LogicCover | str:
    """How much of the controller's table the scenarios reach; why nothing can be said, where it shows no table."""
    try:
        return cover((story.scenario for story in stories), roles)
    except (BadUsage, LogicError) as error:
        return str(error)


def together(order: Order, runs: Sequence[Played], sweep: Swept, laws: Laws, table: LogicCover | str,
             seconds: float, died: str = "") -> Conformance:
    """Put the parts together."""
    return Conformance(order.site, order.seed, tuple(runs), marks(runs, laws), sweep, laws, table, seconds, died)


