"""Which wrong logic a set of scenarios catches: defective doubles, and mutants of the reference controller.

A scenario catches wrong logic when its verdicts differ from what it expects although the reference comes out as
expected, or when the logic dies in it.  Each is run through its role's contract with the plant around it, and no
further than to the first scenario that catches it.
"""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from enum import Enum
from pathlib import PurePath
from typing import NamedTuple, TypeVar

from gatesim.errors import GatesimError
from gatesim.plant.faults.catalogue import faults
from gatesim.plant.logic.contract import Roles
from gatesim.plant.site import Site
from gatesim.run import default_roles, run_scenario
from gatesim.scenario.model import Scenario
from gatesim.search.doubles.base import Double
from gatesim.search.doubles.catalogue import doubles
from gatesim.search.ground import Phase
from gatesim.search.mutants import Asked, Mutant, Pair, mutants
from gatesim.search.sweep import Bench, Task


class Fate(Enum):
    """What became of wrong logic."""

    CAUGHT = "caught"
    MISSED = "missed"
    EQUIVALENT = "equivalent"


class Story(NamedTuple):
    """A scenario and the file it stands in."""

    file: str
    scenario: Scenario

    @property
    def name(self) -> str:
        """The file's name without what all end with."""
        return PurePath(self.file).name.split(".", 1)[0]


class Sound(NamedTuple):
    """What the reference makes of a story: "" or how it differs; and what its table was asked for."""

    file: str
    differs: str
    asked: frozenset[Pair]


class Tried(NamedTuple):
    """What became of one double or mutant.  `by`: the file, or the row of a sweep, that caught it; `why`: what showed
    it there, or why it is equivalent, or why nothing could show it."""

    name: str
    fate: Fate
    by: str
    why: str
    runs: int


class Result(NamedTuple):
    """What a set of scenarios catches.  `missing`: what was not run because somebody ended it; `unsound`: (file, how
    it differs with the reference) of scenarios left out; `scenarios`: how many were used."""

    doubles: tuple[Tried, ...]
    mutants: tuple[Tried, ...]
    missing: int
    scenarios: int
    unsound: tuple[tuple[str, str], ...]
    refused: tuple[str, ...]
    """Mutants that the table's own check refuses before anything runs."""
    drawn: int
    """How many mutants were to be run."""

    @classmethod
    def of(cls, names: Sequence[str], drawn: Sequence[str], tried: Iterable[Tried], sounds: Sequence[Sound],
           refused: tuple[str, ...]) -> Result:
        """Put it together, in the order of the names."""
        found = {one.name: one for one in tried}
        unsound = tuple(sorted((one.file, one.differs) for one in sounds if one.differs))
        return cls(tuple(found[name] for name in names if name in found),
                   tuple(found[name] for name in drawn if name in found),
                   len(names) + len(drawn) - len(found), len(sounds) - len(unsound), unsound, refused, len(drawn))

    def count(self, fate: Fate, *, mutants: bool = False) -> int:
        """How many doubles (or mutants) met this fate."""
        return sum(one.fate is fate for one in (self.mutants if mutants else self.doubles))


Wrong = Double | Mutant
A = TypeVar("A")
B = TypeVar("B")


def wrong_logic(name: str) -> Wrong:
    """A double or mutant by its name."""
    found = doubles().get(name)
    return found if found is not None else next(one for one in mutants().made if one.name == name)


def sound(story: Story) -> Sound:
    """Run a story with the reference."""
    asked = Asked()
    failed = _differs(story.scenario, default_roles()._replace(controller=asked))
    return Sound(story.file, failed, frozenset(asked.asked))


def _differs(scenario: Scenario, roles: Roles, *, all_deaths: bool = False) -> str:
    """How the verdicts differ from what the scenario expects; "" where they do not."""
    try:
        result = run_scenario(scenario, roles, keep=False)
    except GatesimError as error:
        return f"{type(error).__name__}: {error}"
    except Exception as error:
        if not all_deaths:
            raise
        return f"it died: {type(error).__name__}: {error}"
    return next((f"{row.requirement}: {row.why}" for row in result.rows if row.differs), "")


def try_wrong(wrong: Wrong, stories: Sequence[Story], asked: dict[str, frozenset[Pair]]) -> Tried:
    """Run wrong logic through the stories until one catches it: the one that a double names first."""
    order, reason = list(stories), ""
    if isinstance(wrong, Double):
        reason = wrong.equivalent
        order.sort(key=lambda story: story.name != wrong.shown_by)
    elif wrong.pair is not None:
        order = [story for story in order if wrong.pair in asked.get(story.file, ())]
    for runs, story in enumerate(order, 1):
        why = _differs(story.scenario, wrong.roles(default_roles()), all_deaths=True)
        if why:
            return Tried(wrong.name, Fate.CAUGHT, story.file, why, runs)
    if reason:
        return Tried(wrong.name, Fate.EQUIVALENT, "", reason, len(order))
    why = "" if order else "no scenario comes to where it is other than the reference"
    return Tried(wrong.name, Fate.MISSED, "", why, len(order))


class Swept:
    """Sweeps of sites with wrong logic, beside the same with the reference (each row made when first needed)."""

    def __init__(self, sites: Iterable[Site]) -> None:
        self.benches = [Bench(site, default_roles(), 1, (Phase.TRAVEL,)) for site in sites]
        self.sound: dict[tuple[int, int], bool] = {}

    def catches(self, wrong: Wrong) -> tuple[str, str]:
        """The first row that differs from its catalogue entry though the reference's does not, and its outcome."""
        for k, bench in enumerate(self.benches):
            tried = Bench(bench.site, wrong.roles(default_roles()), 1, (Phase.TRAVEL,))
            for task in sorted(bench.tasks(tuple(faults())), key=lambda task: not _meant(wrong, task)):
                try:
                    row = tried.row(task)
                    differs, outcome = row.differs, row.outcome.value
                except Exception as error:  # noqa: BLE001 - wrong logic may die of anything
                    differs, outcome = True, f"it died: {type(error).__name__}: {error}"
                if differs and self._as_expected(k, task):
                    way = bench.grounds[task.ground].direction.value
                    return f"sweep of {bench.site.name}: {task.fault} at {task.device}, {way}", outcome
        return "", ""

    def _as_expected(self, k: int, task: Task) -> bool:
        if (k, task.number) not in self.sound:
            self.sound[k, task.number] = not self.benches[k].row(task).differs
        return self.sound[k, task.number]


def _meant(wrong: Wrong, task: Task) -> bool:
    return isinstance(wrong, Double) and wrong.row in faults()[task.fault].row


# --- side by side -----------------------------------------------------------------------------------------------------


class Desk:
    """What one process needs to try things."""

    def __init__(self, stories: Sequence[Story], with_sweep: bool) -> None:
        self.stories = tuple(stories)
        self.asked: dict[str, frozenset[Pair]] = {}
        self.with_sweep = with_sweep
        self._swept: Swept | None = None

    def sound(self, number: int) -> Sound:
        """The reference in one story."""
        return sound(self.stories[number])

    def tried(self, name: str, sounds: tuple[Sound, ...]) -> Tried:
        """One double or mutant, through the stories that the reference meets."""
        good = {one.file: one.asked for one in sounds if not one.differs}
        wrong = wrong_logic(name)
        tried = try_wrong(wrong, [story for story in self.stories if story.file in good], good)
        if tried.fate is not Fate.MISSED or not self.with_sweep:
            return tried
        if self._swept is None:
            self._swept = Swept({story.scenario.site.name: story.scenario.site for story in self.stories}.values())
        by, why = self._swept.catches(wrong)
        return tried._replace(fate=Fate.CAUGHT, by=by, why=why) if by else tried


_desk: Desk | None = None
_sounds: tuple[Sound, ...] = ()


def _begin(stories: Sequence[Story], with_sweep: bool, sounds: tuple[Sound, ...]) -> None:
    global _desk, _sounds
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent says when to end
    _desk, _sounds = Desk(stories, with_sweep), sounds


def _sound(number: int) -> Sound:
    assert _desk is not None
    return _desk.sound(number)


def _tried(name: str) -> Tried:
    assert _desk is not None
    return _desk.tried(name, _sounds)


def sounds_of(stories: Sequence[Story], workers: int) -> Iterator[Sound]:
    """What the reference makes of each story, as it comes."""
    if workers == 1:
        yield from map(sound, stories)
        return
    yield from _pooled(workers, (stories, False, ()), _sound, range(len(stories)))


def trials_of(names: Sequence[str], stories: Sequence[Story], sounds: tuple[Sound, ...], workers: int, *,
              with_sweep: bool = False) -> Iterator[Tried]:
    """What becomes of each double or mutant, as it comes; leaving the loop early ends the workers."""
    if workers == 1:
        desk = Desk(stories, with_sweep)
        yield from (desk.tried(name, sounds) for name in names)
        return
    yield from _pooled(workers, (stories, with_sweep, sounds), _tried, names)


def _pooled(workers: int, given: tuple[Sequence[Story], bool, tuple[Sound, ...]], work: Callable[[A], B],
            items: Iterable[A]) -> Iterator[B]:
    pool = ProcessPoolExecutor(workers, initializer=_begin, initargs=given)
    try:
        for future in as_completed([pool.submit(work, item) for item in items]):
            yield future.result()
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
