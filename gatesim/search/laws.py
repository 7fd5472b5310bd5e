"""Whatever a gate is told, no requirement fails: random stories made and shrunk by Hypothesis.

A story counts against logic under test where a requirement fails that the reference logic, told the same at the same
site, does not fail by: a site that is bad, and a fault that nothing finds, are no fault of a controller.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from tempfile import TemporaryDirectory
from typing import Any, NamedTuple

from gatesim.errors import GatesimError, LogicError
from gatesim.plant.logic.contract import Roles
from gatesim.plant.site import Site
from gatesim.requirements.verdict import Outcome
from gatesim.run import default_roles, run_scenario
from gatesim.scenario.model import Scenario
from gatesim.search.random_stories import Ground, story
from gatesim.search.shorten import Failure, shorten
from gatesim.search.steps import scenario_tree
from gatesim.search.tries import Tries

EXTRA = "laws"
"""The extra of the package that has Hypothesis."""
MOST = 5
"""Failures that are looked for, one after the other."""
SITE = "the site"


class Broken(NamedTuple):
    """A requirement that fails in a story, and the shortest story found (a tree of a scenario file)."""

    failure: Failure
    tree: dict[str, Any]
    scenario: Scenario
    steps_before: int


class Laws(NamedTuple):
    """What came of it.  `excused`: stories in which the reference fails the same."""

    stories: int
    wanted: int
    broken: tuple[Broken, ...]
    excused: int
    ended: bool
    """Time was over before all was tried."""
    absent: str = ""
    """Why nothing was tried; "" where something was."""


def hold(site: Site, roles: Roles, seed: int, stories: int, budget: float | None, tries: Tries) -> Laws:
    """Tell so many random stories; what breaks a requirement is shortened.  LogicError where the logic dies.

    `budget`: seconds in all, shrinking counted; None: as long as it takes.
    """
    try:
        import hypothesis
    except ImportError:
        return Laws(0, stories, (), 0, ended=False, absent=f"Hypothesis is not here: install gatesim[{EXTRA}]")
    judge = _Judge(roles, budget)
    with TemporaryDirectory(prefix="gatesim-") as folder:
        # It would leave a folder where the user stands, though nothing of it is needed again.
        hypothesis.configuration.set_hypothesis_home_dir(folder)
        try:
            found = _found(hypothesis, judge, site, seed, stories, tries)
        finally:
            hypothesis.configuration.set_hypothesis_home_dir(None)
    if judge.died is not None:
        raise judge.died
    return Laws(judge.told, stories, found, judge.excused, ended=judge.late())


def _found(hypothesis: Any, judge: _Judge, site: Site, seed: int, stories: int, tries: Tries) -> tuple[Broken, ...]:
    """One failure after the other, each with its shortest story."""
    found: list[Broken] = []
    strategy = _strategy(Ground.of(site), seed)
    calm = hypothesis.settings(
        max_examples=stories, deadline=None, database=None,
        phases=[hypothesis.Phase.generate, hypothesis.Phase.shrink],
        suppress_health_check=list(hypothesis.HealthCheck))
    while len(found) < MOST and not judge.late():
        judge.known = {one.failure for one in found}
        try:
            told: Scenario = hypothesis.find(strategy, judge.breaks, settings=calm, random=random.Random(seed))
        except hypothesis.errors.NoSuchExample:
            break
        found.append(_shortened(judge, told, tries))
    return tuple(found)


def _strategy(ground: Ground, seed: int) -> Any:
    """Stories of a site as a strategy."""
    from hypothesis import strategies as st

    @st.composite
    def told(draw: Callable[[Any], Any]) -> Scenario:
        return story(ground, _Drawn(draw, st), draw(st.integers(0, len(ground.spots) - 1)), seed=seed)

    return told()


class _Drawn:
    """Choices drawn by Hypothesis."""

    def __init__(self, draw: Callable[[Any], Any], strategies: Any) -> None:
        self._draw, self._strategies = draw, strategies

    def one_of(self, options: Any) -> Any:
        """One of these."""
        return options[self.whole(0, len(options) - 1)]

    def whole(self, low: int, high: int) -> int:
        """A whole number from `low` to `high`."""
        return int(self._draw(self._strategies.integers(low, high)))


class _Judge:
    """What stories break, each judged once."""

    def __init__(self, roles: Roles, budget: float | None) -> None:
        self.roles, self.budget = roles, budget
        self.told = self.excused = 0
        self.known: set[Failure] = set()
        self.died: LogicError | None = None
        self._begun = time.perf_counter()
        self._judged: dict[Any, tuple[Failure, ...]] = {}

    def late(self) -> bool:
        """Whether time is over."""
        return self.budget is not None and time.perf_counter() - self._begun > self.budget

    def breaks(self, told: Scenario) -> bool:
        """Whether a story breaks what is not known yet.  When time is over, no more stories are tried."""
        return any(one not in self.known for one in self.failures(told))

    def failures(self, told: Scenario) -> tuple[Failure, ...]:
        """What fails with the logic under test, and not with the reference."""
        key = (told.steps, told.ends, id(told.site))
        if key not in self._judged:
            if self.died is not None or self.late():
                return ()
            self._judged[key] = self._judge(told)
        return self._judged[key]

    def _judge(self, told: Scenario) -> tuple[Failure, ...]:
        self.told += 1
        try:
            mine = failures_of(told, self.roles)
        except LogicError as error:
            self.died = error
            return ()
        if not mine:
            return ()
        theirs = {one.requirement for one in failures_of(told, default_roles())}
        left = tuple([one for one in mine if one.requirement not in theirs])
        self.excused += not left
        return left


def failures_of(told: Scenario, roles: Roles) -> tuple[Failure, ...]:
    """The requirements that fail in a story."""
    rows = run_scenario(told, roles, keep=False).rows
    return tuple([Failure(row.requirement, row.verdict.failure or "") for row in rows
                  if row.verdict.outcome is Outcome.FAIL])


def _shortened(judge: _Judge, told: Scenario, tries: Tries) -> Broken:
    """The story without what its failure does not need."""
    failure = next(one for one in judge.failures(told) if one not in judge.known)

    def fails(candidate: dict[str, Any]) -> bool:
        read = tries.scenario(candidate)
        try:
            return read is not None and failure in judge.failures(read)
        except GatesimError:
            return False

    tree = scenario_tree(told, SITE)
    short = shorten(tree, fails)
    found = tries.scenario(short.tree)
    assert found is not None
    # What else it fails stands in it as well, so that it can be kept as it is.
    fails_too = failures_of(found, judge.roles)
    expect = [{"requirement": one.requirement, "outcome": "fail", "failure": one.failure} for one in fails_too]
    return Broken(failure, {**short.tree, "title": f"{failure.requirement}: {failure.failure}", "expect": expect},
                  found, short.steps_before)
