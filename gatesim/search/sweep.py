"""The sweep: fault kinds x devices x directions x phases x durations, each over all moments of its window.

Each row is one task; rows are independent, so that they can be run side by side, kept one by one, and be left out when
time is short.  What was left out is incomplete, never a pass.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from multiprocessing.synchronize import Event
from typing import NamedTuple

from gatesim.events import Direction, FoundBy, LeafName
from gatesim.plant.build import build
from gatesim.plant.fault import Place
from gatesim.plant.faults.catalogue import faults, place
from gatesim.plant.fsm import Row as TableRow
from gatesim.plant.logic.contract import Roles
from gatesim.plant.logic.controller_reference import ReferenceController
from gatesim.plant.logic.controller_table import TABLE, Guard, Mode, Trigger
from gatesim.plant.site import Site, Transmitter, WiredInput
from gatesim.plant.world import Plant
from gatesim.requirements.verdict import Outcome
from gatesim.run import RunResult, run_story
from gatesim.scenario.agenda import Due
from gatesim.scenario.agenda import agenda as stimuli
from gatesim.scenario.model import Fault, Scenario
from gatesim.search.classes import Class, expected
from gatesim.search.contacts import Contacts, Latent, More, can_meet
from gatesim.search.ground import SETTLE, Ground, Phase, grounds, grounds_of, move_title
from gatesim.search.moments import Coverage, Laid, Worst, lay
from gatesim.search.ordering import Noted
from gatesim.search.probe import PERMANENT, PULSES, FaultProber, Pulse, contact, guards, merged
from gatesim.search.story import FaultStep, scenario_text


class Task(NamedTuple):
    """One row to be made."""

    number: int
    fault: str
    device: str
    ground: int
    pulse: str


class Row(NamedTuple):
    """One row of the result."""

    fault: str
    device: str
    direction: Direction
    leaf: LeafName | None
    """Whose move it is; None: there is one leaf."""
    phase: Phase
    duration: str
    found: FoundBy
    guards: bool
    shows_late: str
    outcome: Class
    worst: Worst | None
    bound: int | None
    runs: int
    coverage: Coverage
    why: str
    gaps: tuple[tuple[int, int], ...]
    window: tuple[int, int]
    classes: dict[Class, int]
    profile: tuple[tuple[int, int | None], ...]
    latent: Latent | None
    reached: frozenset[int]
    """Rows of the reference controller's table that its runs used (their places); empty with other logic."""
    seconds: float

    @property
    def differs(self) -> bool:
        """Whether it is other than what its catalogue entry lets expect."""
        return self.outcome not in expected(self.found, self.guards, self.shows_late)

    @property
    def residual(self) -> bool:
        """Whether it stays a risk that nothing finds in service."""
        return self.outcome is Class.LATENT


class Watched(ReferenceController):
    """The reference controller, its table looked up by itself (a law proves the answers equal), with a note of each row
    that it used."""

    def __init__(self, reached: set[int]) -> None:
        super().__init__(by_library=False)
        self._plain, self._reached = self._fire, reached
        self._places = {id(row): k for k, row in enumerate(TABLE.rows)}
        self._fire = self._noted

    def _noted(self, mode: Mode, trigger: Trigger, holds: Callable[[Guard], bool]) -> TableRow | None:
        row = self._plain(mode, trigger, holds)
        if row is not None:
            self._reached.add(self._places[id(row)])
        return row


class Bench:
    """A site (or a scenario) with its plant and grounds, ready to be swept.  One is made in each process."""

    def __init__(self, site: Site, roles: Roles, seed: int, phases: Iterable[Phase],
                 scenario: Scenario | None = None, trace_contacts: bool = False) -> None:
        self.site, self.seed = site, seed
        self.reached: set[int] = set()
        if type(roles.controller) is ReferenceController:
            roles = roles._replace(controller=Watched(self.reached))
        self.roles = roles
        self.plant: Plant = build(site, roles)
        self.grounds: tuple[Ground, ...] = (
            grounds_of(self.plant, scenario, seed) if scenario is not None
            else grounds(self.plant, site, seed, phases))
        nodes: tuple[Transmitter | WiredInput, ...] = (*site.transmitters, *site.wired_inputs)
        self.period = min([node.sampling for node in nodes], default=10_000)
        self.ended: Callable[[], bool] = _never
        """Whether somebody wants the row in hand to end now; what it did not reach is a gap then."""
        self._noted: dict[int, Noted] = {}
        self.trace_contacts = trace_contacts
        self._contacts: dict[int, Contacts] = {}

    def tasks(self, kinds: Sequence[str], pulses: Sequence[Pulse] = (PERMANENT,)) -> tuple[Task, ...]:
        """Every row that this bench can make of these kinds."""
        made: list[Task] = []
        for k in range(len(self.grounds)):
            for kind in kinds:
                for spot in faults()[kind].places(self.site):
                    made += [Task(0, kind, spot.device, k, pulse.title) for pulse in pulses]
        return tuple(task._replace(number=n) for n, task in enumerate(made))

    def leaf_of(self, ground: Ground) -> LeafName | None:
        """Whose move a ground is; None where there is one leaf."""
        return None if self.site.second_leaf is None else ground.leaf

    def row(self, task: Task, budget: float | None = None) -> Row:
        """Make one row within a budget (s; None: as long as it takes)."""
        begun = time.perf_counter()
        self.reached.clear()
        ground, spot = self.grounds[task.ground], place(faults()[task.fault], self.site, task.device)
        pulse = next(one for one in PULSES if one.title == task.pulse)
        if task.ground not in self._noted:
            self._noted[task.ground] = Noted(self.plant, self.site, self.seed, ground)
        prober = FaultProber(self.plant, self.site, self.seed, ground, spot, pulse, self._noted[task.ground])
        met = ground.phase is Phase.TRAVEL and pulse is PERMANENT
        # Where contacts are traced they have half of the time.
        alone = budget if budget is None or not (met and self.trace_contacts) else budget / 2
        laid = lay(ground.first, ground.last, self.period, prober, lambda _: self._goes_on(begun, alone))
        outcome, latent = laid.worst.what, None
        if laid.worst.what is Class.NO_EFFECT and met:
            latent = self.contacts(task.ground, spot, [first for _, first in laid.regions],
                                   (lambda: self._goes_on(begun, budget)) if self.trace_contacts else None)
            if latent is not None and latent.first is not None:
                outcome = Class.LATENT
        return self._row(task, laid, outcome, latent, time.perf_counter() - begun)

    def _goes_on(self, begun: float, budget: float | None) -> bool:
        """Whether there is time left, and nobody wants an end."""
        return (budget is None or time.perf_counter() - begun < budget) and not self.ended()

    def _row(self, task: Task, laid: Laid, outcome: Class, latent: Latent | None, seconds: float) -> Row:
        ground, kind = self.grounds[task.ground], faults()[task.fault]
        spot = place(kind, self.site, task.device)
        return Row(task.fault, spot.device, ground.direction, self.leaf_of(ground), ground.phase, task.pulse,
                   kind.found, guards(spot, ground.direction), kind.shows_late, outcome, laid.worst, laid.bound,
                   laid.runs, laid.coverage, laid.why, laid.gaps, (ground.first, ground.last), laid.classes,
                   laid.profile, latent, frozenset(self.reached), seconds)

    def contacts(self, number: int, spot: Place, onsets: Sequence[int], more: More | None) -> Latent | None:
        """Contacts while a fault is there; None where none can be made."""
        ground = self.grounds[number]
        if not can_meet(self.site, ground):
            return None
        if number not in self._contacts:
            self._contacts[number] = Contacts(self.plant, self.site, self.seed, ground, self.period)
        return self._contacts[number].latent(spot, onsets, more)


class Summary(NamedTuple):
    """The whole sweep in figures."""

    runs: int
    seconds: float
    outcomes: dict[Class, int]
    states_reached: int
    states: int
    transitions_reached: int
    transitions: int
    missing: int
    """Rows that were not made before the sweep was ended."""


class Swept(NamedTuple):
    """What a sweep found.  `rows` in the order of the tasks."""

    site: str
    seed: int
    rows: tuple[Row, ...]
    summary: Summary
    unused: tuple[str, ...]
    """Transitions of the reference controller's table that no run used, in words; empty with other logic."""

    @property
    def differs(self) -> bool:
        """Whether any row is other than its catalogue entry lets expect, or is missing."""
        return any(row.differs for row in self.rows)


def summed(site: str, seed: int, rows: Iterable[Row], missing: int, seconds: float) -> Swept:
    """Put rows together."""
    kept = tuple(rows)
    reached = frozenset[int]().union(*[row.reached for row in kept]) if kept else frozenset[int]()
    states = {TABLE.rows[k].mode for k in reached} | {TABLE.rows[k].target for k in reached}
    outcomes = {one: sum(row.outcome is one for row in kept) for one in Class}
    unused = [f"{row.mode.value}: {row.trigger.value}" for k, row in enumerate(TABLE.rows) if k not in reached]
    summary = Summary(sum(row.runs for row in kept), seconds, outcomes, len(states), len(TABLE.modes), len(reached),
                      len(TABLE.rows), missing)
    return Swept(site, seed, kept, summary, tuple(dict.fromkeys(unused)) if reached else ())


def worst_story(bench: Bench, row: Row, site: str) -> str:
    """The story of a row's worst moment as a scenario file; `site`: the path to the site as that file states it.

    It expects what the sweep found: the requirement that measured the reaction, or the one that failed.
    """
    assert row.worst is not None
    step, agenda, ends = _worst_case(bench, row)
    title = f"{row.fault} at {row.device}, {move_title(row.direction, row.leaf)}, {row.phase.value}: the worst moment"
    measured = "no reaction" if row.worst.measured is None else f"a reaction after {row.worst.measured} us"
    teaches = f"A sweep found it: {row.outcome.value}, {measured}; coverage {row.coverage.value}."
    expect = _found(bench, row, step, agenda, ends)
    return scenario_text(title, teaches, site, bench.seed, ends, agenda, [step], expect)


def worst_run(bench: Bench, row: Row) -> RunResult:
    """The run of a row's worst moment, with its trace."""
    return _run(bench, *_worst_case(bench, row), keep=True)


def _worst_case(bench: Bench, row: Row) -> tuple[FaultStep, tuple[Due, ...], int]:
    """The fault, what comes from outside beside it, and when it ends (us)."""
    assert row.worst is not None
    ground = next(one for one in bench.grounds
                  if (one.direction, bench.leaf_of(one), one.phase) == (row.direction, row.leaf, row.phase))
    pulse = next(one for one in PULSES if one.title == row.duration)
    step = FaultStep(row.fault, row.device, row.worst.at, pulse.lasts, pulse.gap, pulse.times)
    agenda = ground.agenda
    if row.outcome is Class.LATENT and row.latent is not None and row.latent.first is not None:
        step = step._replace(at=row.latent.onset)
        agenda = tuple(merged(list(agenda), [contact(bench.site, ground, row.latent.first)]))
    ends = ground.ends if row.worst.measured is None else max(ground.ends, row.worst.at + row.worst.measured + SETTLE)
    return step, agenda, ends


def _run(bench: Bench, step: FaultStep, agenda: tuple[Due, ...], ends: int, *, keep: bool) -> RunResult:
    fault = Fault(do="fault", fault=step.fault, device=step.device, at=step.at, lasts=step.lasts,
                  gap=step.gap or None, flickers=step.times)
    scenario = Scenario("", "", bench.site, ends, (fault,), ())
    whole = tuple(merged(list(agenda), list(stimuli(scenario))))
    return run_story(scenario, whole, bench.roles, seed=bench.seed, keep=keep)


def _found(bench: Bench, row: Row, step: FaultStep, agenda: tuple[Due, ...], ends: int) -> list[tuple[str, str | None]]:
    """What the whole story comes to: every failure, and the requirement that measured the reaction."""
    rows = _run(bench, step, agenda, ends, keep=False).rows
    found: list[tuple[str, str | None]] = [
        (one.requirement, one.verdict.failure) for one in rows if one.verdict.outcome is Outcome.FAIL]
    passed = {one.requirement for one in rows if one.verdict.outcome is Outcome.PASS}
    if row.worst is not None and row.worst.requirement in passed:
        found.append((row.worst.requirement, None))
    return found


class Order(NamedTuple):
    """What a worker must know to make its own bench; it can be sent to another process."""

    site: Site
    scenario: Scenario | None
    seed: int
    phases: tuple[Phase, ...]
    load: Callable[[], Roles]
    """Makes the logic under test, in the worker."""
    trace_contacts: bool = False
    """Whether the moment of a contact is traced, too, where a fault alone has no effect."""


def bench_for(order: Order) -> Bench:
    """The bench of an order."""
    return Bench(order.site, order.load(), order.seed, order.phases, order.scenario, order.trace_contacts)


def in_turn(bench: Bench, tasks: Sequence[Task], budget: float | None) -> Iterator[Row]:
    """Rows in this process, in order.  A budget (s) is shared out over what is left."""
    begun = time.perf_counter()
    for k, task in enumerate(tasks):
        left = None if budget is None else max(0.0, budget - (time.perf_counter() - begun)) / (len(tasks) - k)
        yield bench.row(task, left)


def side_by_side(order: Order, tasks: Sequence[Task], budget: float | None, workers: int) -> Iterator[Row]:
    """Rows from worker processes, as they come.  A budget is shared out evenly; leaving the loop early ends them."""
    share = None if budget is None else budget * workers / max(1, len(tasks))
    stop = multiprocessing.Event()
    pool = ProcessPoolExecutor(workers, initializer=_begin, initargs=(order, stop))
    try:
        for future in as_completed([pool.submit(_make, task, share) for task in tasks]):
            yield future.result()
    finally:
        stop.set()  # rows in hand end at their next run
        pool.shutdown(wait=True, cancel_futures=True)


_bench: Bench | None = None


def _begin(order: Order, stop: Event) -> None:
    global _bench
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent says when to end
    threading.Thread(target=_outlive_nobody, args=(os.getppid(),), daemon=True).start()
    _bench = bench_for(order)
    _bench.ended = stop.is_set


def _outlive_nobody(parent: int) -> None:
    """End this worker when the process that it works for is gone, however that came."""
    while os.getppid() == parent:
        time.sleep(0.5)
    os._exit(1)


def _never() -> bool:
    return False


def _make(task: Task, share: float | None) -> Row:
    assert _bench is not None
    return _bench.row(task, share)
