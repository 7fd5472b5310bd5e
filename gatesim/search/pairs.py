"""Second faults: ordered pairs, the second one at every moment at which the first is there.

What the first fault does alone says which moments those are.  Where it does nothing that one could see, it lies there
from the beginning of the travel, and the second (another fault, or a contact) comes at any moment of the travel:
*latent first*.  Where it is answered, the second comes at any moment of the answer: *during the reaction*.

No requirement claims that a gate withstands two independent faults.  So a pair is not held against the catalogue: what
is graver than each fault alone shows is a residual risk, to be read.  Only an undetermined pair differs.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from enum import Enum
from typing import Any, NamedTuple

from gatesim.events import Direction, LeafName, Run
from gatesim.plant.fault import FaultBegins, Place
from gatesim.plant.faults.catalogue import faults, place
from gatesim.requirements.verdict import Verdict
from gatesim.run import Course
from gatesim.scenario.agenda import Due
from gatesim.search.classes import ORDER, Class
from gatesim.search.contacts import can_meet
from gatesim.search.ground import Ground, Phase
from gatesim.search.moments import Coverage, Laid, Prober, Worst, grid, lay
from gatesim.search.probe import ContactProber, FaultProber, guards, merged
from gatesim.search.sweep import Bench
from gatesim.units import us

CONTACT = "contact"
"""The second event of a pair that is no fault: an obstruction that the moving leaf meets."""
PILOT = 4
"""Moments tried first, spread over the window, so that a short budget does not see its beginning only."""
GRAVE = (Class.UNSAFE, Class.LATE, Class.LATENT)
LEAST = 1_000_000
"""The second fault comes within this (us) after the first at least, however soon the first is answered."""


class When(Enum):
    """When the second one comes."""

    LATENT = "latent first"
    DURING = "during the reaction"


class PairTask(NamedTuple):
    """One ordered pair in one story."""

    fault: str
    device: str
    then: str
    then_device: str
    """"" for a contact."""
    ground: int


class PairRow(NamedTuple):
    """What a pair comes to."""

    fault: str
    device: str
    then: str
    then_device: str
    direction: Direction
    leaf: LeafName | None
    """Whose move it is; None: there is one leaf."""
    when: When
    onset: int
    """The moment of the first fault."""
    first: Class
    """What comes of it alone."""
    second: Class
    """The gravest that the second alone showed at some moments of the travel."""
    outcome: Class
    worst: Worst | None
    bound: int | None
    runs: int
    coverage: Coverage
    why: str
    gaps: tuple[tuple[int, int], ...]
    window: tuple[int, int]
    seconds: float

    @property
    def graver(self) -> bool:
        """Whether the pair is late, unsafe or latent, and graver than each of its faults alone: a residual risk."""
        alone = min(ORDER.index(self.first), ORDER.index(self.second))
        return self.outcome in GRAVE and ORDER.index(self.outcome) < alone

    @property
    def differs(self) -> bool:
        """Only what could not be told differs."""
        return self.outcome is Class.UNDETERMINED


class Paired(NamedTuple):
    """The pairs of a sweep."""

    rows: tuple[PairRow, ...]
    missing: int
    """Pairs that were not made before the time was up, or the sweep was ended."""

    @property
    def differs(self) -> bool:
        """Whether any could not be told."""
        return any(row.differs for row in self.rows)


class SecondProber(FaultProber):
    """Plays a ground in which the first fault has begun, with the second one at a moment."""

    def __init__(self, bench: Bench, ground: Ground, first: Place, onset: int, second: Place) -> None:
        super().__init__(bench.plant, bench.site, bench.seed, _with_first(ground, first, onset), second)
        self.guards = self.guards or guards(first, ground.direction)  # whichever of the two is answered


class GateContact(ContactProber):
    """A contact judged by the gate as a whole only: what one means misses the other may meet."""

    def _alone(self, course: Course, run: Run, now: Any) -> dict[str, Verdict]:
        return {}


class Pairs:
    """The pairs of a bench's travels."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self._alone: dict[tuple[str, str, int], tuple[Class, int]] = {}

    def tasks(self, kinds: Sequence[str]) -> tuple[PairTask, ...]:
        """Every ordered pair of these kinds at this site, and each kind with a contact."""
        spots = [(kind, spot.device) for kind in kinds for spot in faults()[kind].places(self.bench.site)]
        made = []
        for k, ground in enumerate(self.bench.grounds):
            if ground.phase is Phase.TRAVEL:
                met = can_meet(self.bench.site, ground)
                for first in spots:
                    made += [PairTask(*first, CONTACT, "", k)] if met else []
                    made += [PairTask(*first, *then, k) for then in spots if then != first]
        return tuple(made)

    def row(self, task: PairTask, budget: float | None = None) -> PairRow:
        """Make one row within a budget (s; None: as long as it takes)."""
        begun, bench = time.perf_counter(), self.bench
        ground = bench.grounds[task.ground]
        first = place(faults()[task.fault], bench.site, task.device)
        alone, answered = self.alone(task.fault, task.device, task.ground)
        latent = alone in (Class.NO_EFFECT, Class.LATENT)
        onset = ground.first if latent else (ground.first + ground.last) // 2
        window = (onset + 1, ground.last if latent else min(ground.last, onset + answered))
        second, _ = self.alone(task.then, task.then_device, task.ground)
        if task.then == CONTACT:
            prober: FaultProber = GateContact(bench.plant, bench.site, bench.seed, ground, first, onset)
        else:
            prober = SecondProber(bench, ground, first, onset,
                                  place(faults()[task.then], bench.site, task.then_device))
        laid = _laid(window, bench.period, prober, lambda: budget is None or time.perf_counter() - begun < budget,
                     sampled=task.then == CONTACT)
        when = When.LATENT if latent else When.DURING
        return PairRow(*task[:4], ground.direction, bench.leaf_of(ground), when, onset, alone, second, laid.worst.what,
                       laid.worst, laid.bound, laid.runs, laid.coverage, laid.why, laid.gaps, window,
                       time.perf_counter() - begun)

    def alone(self, kind: str, device: str, number: int) -> tuple[Class, int]:
        """The gravest that a fault alone shows at some moments of the travel, and the longest that its answer took from
        the middle of it (us)."""
        key = (kind, device, number)
        if key not in self._alone:
            bench, ground = self.bench, self.bench.grounds[number]
            if kind == CONTACT:
                prober: FaultProber = GateContact(bench.plant, bench.site, bench.seed, ground, None, ground.first)
            else:
                prober = FaultProber(bench.plant, bench.site, bench.seed, ground,
                                     place(faults()[kind], bench.site, device))
            laid = grid(_spread(ground.first, ground.last), prober)
            middle = prober((ground.first + ground.last) // 2)
            took = 0 if middle.reaction is None else us(middle.reaction.measured)
            what = min(laid.worst.what, middle.what, key=ORDER.index)
            self._alone[key] = (what, max(LEAST, took))
        return self._alone[key]


def _with_first(ground: Ground, first: Place, onset: int) -> Ground:
    """The story with the first fault in it, for good."""
    assert first.fault is not None
    begins = [Due(onset, FaultBegins("first", first.fault, wire, first.device, first.guard)) for wire in first.wires]
    return ground._replace(agenda=tuple(merged(list(ground.agenda), begins)))


def _spread(first: int, last: int) -> list[int]:
    return [first + (last - first) * (2 * k + 1) // (2 * PILOT) for k in range(PILOT)]


def _laid(window: tuple[int, int], period: int, prober: Prober, more: Callable[[], bool], *,
          sampled: bool) -> Laid:
    """Some moments first, then all of them one after another as far as the time goes."""
    pilot = grid(_spread(*window), prober)
    if sampled:
        return pilot
    laid = lay(*window, period, prober, lambda _: more())
    worst = pilot.worst if pilot.worst.graver(laid.worst) else laid.worst
    why = laid.why
    if laid.coverage is Coverage.EXACT and worst is pilot.worst and worst.graver(laid.worst):
        # A plain run shows worse than what was proved: then nothing is.
        laid, why = laid._replace(coverage=Coverage.SAMPLED, bound=None), "a moment tried shows worse"
    return laid._replace(worst=worst, runs=laid.runs + pilot.runs, why=why)


def in_turn(pairs: Pairs, tasks: Sequence[PairTask], budget: float | None) -> Iterator[PairRow]:
    """Rows in order.  A budget (s) is shared out over what is left; when it is used up the rest is not made."""
    begun = time.perf_counter()
    for k, task in enumerate(tasks):
        left = None if budget is None else budget - (time.perf_counter() - begun)
        if left is not None and left <= 0:
            return
        yield pairs.row(task, None if left is None else left / (len(tasks) - k))
