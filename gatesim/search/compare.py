"""An input sequence on which two controllers differ: random stories, then stories that a driver was led to by the
first controller's table; the first that tells them apart is shortened.

Deterministic by seed.  That nothing was found says how much was tried, never that two controllers are equal.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from typing import Any, NamedTuple

from gatesim.errors import BadUsage
from gatesim.plant.logic.contract import Roles
from gatesim.plant.site import Site
from gatesim.scenario.model import Scenario
from gatesim.search.machine import Machine
from gatesim.search.outputs import By, Difference, VerdictChange, differ, noted, verdict_changes
from gatesim.search.random_stories import AFTER, Ground, Seeded, story
from gatesim.search.shorten import shorten
from gatesim.search.steer import Driver
from gatesim.search.steps import scenario_tree, steps_of
from gatesim.search.tap import Tap, table_of
from gatesim.search.tries import Tries

Tree = dict[str, Any]
RANDOM, DRIVEN = "random", "driven"
SITE = "the site"
"""What stands for the path to the site in the trees of a search."""


class Pair(NamedTuple):
    """Two controllers, each with the other roles around it, and what of them is compared."""

    first: Roles
    second: Roles
    by: By = By.OUTPUTS
    slack: int = 1
    """The same output may come so much (us) earlier or later: a program is told whole microseconds."""

    def difference(self, scenario: Scenario) -> Difference | None:
        """Where the two first differ in a story; None where they do not."""
        if self.by is By.VERDICTS:
            changes = verdict_changes(scenario, self.first, self.second)
            if not changes:
                return None
            return Difference(scenario.ends, tuple([one.requirement for one in changes]),
                              tuple([one.first for one in changes]), tuple([one.second for one in changes]))
        first = noted(scenario, self.first, self.by)
        return differ(first, noted(scenario, self.second, self.by), scenario.ends, self.slack)


class Effort(NamedTuple):
    """How much to try: random stories, a driver's moves, seconds in all (None: as long as it takes)."""

    stories: int = 1000
    moves: int = 2000
    budget: float | None = None


class Compared(NamedTuple):
    """What came of it.  `tried`: stories by how they were made; `wanted`: random stories that were to be tried."""

    site: Site
    seed: int
    pair: Pair
    tried: dict[str, int]
    wanted: int
    undriven: str
    """Why no story was driven, or ""."""
    ended: bool
    """Time was over before all was tried."""
    found: Scenario | None = None
    """The shortened story, with `tree` and the difference in it."""
    tree: Tree | None = None
    difference: Difference | None = None
    steps_before: int = 0
    candidates: int = 0
    """Stories tried to shorten it."""
    verdicts: tuple[VerdictChange, ...] = ()
    """The requirements that say different things of the two in it."""


def compare(site: Site, pair: Pair, seed: int, effort: Effort, tries: Tries,
            told: Callable[[Iterator[Scenario]], Iterator[Scenario]] = lambda stories: stories) -> Compared:
    """Look for a difference.  `told` passes the stories on, perhaps with a word on how far it is.

    LogicError where a controller dies before anything is asked of it.
    """
    search = _Search(site, pair, seed, effort)
    for one in told(search.stories()):
        difference = pair.difference(one)
        if difference is not None:
            return _shortened(search.result(), one, difference, tries)
    return search.result()


class _Search:
    """The stories of one search, counted."""

    def __init__(self, site: Site, pair: Pair, seed: int, effort: Effort) -> None:
        self.site, self.pair, self.seed, self.effort = site, pair, seed, effort
        self.tried = {RANDOM: 0, DRIVEN: 0}
        self.undriven, self.ended = "", False
        self._begun = time.perf_counter()

    def stories(self) -> Iterator[Scenario]:
        """All stories, as long as there is time."""
        for kind, stories in ((RANDOM, self._random()), (DRIVEN, self._driven())):
            for one in stories:
                if self._late():
                    self.ended = True
                    return
                self.tried[kind] += 1
                yield one

    def _late(self) -> bool:
        return self.effort.budget is not None and time.perf_counter() - self._begun > self.effort.budget

    def _random(self) -> Iterator[Scenario]:
        return random_stories(self.site, self.seed, self.effort.stories)

    def _driven(self) -> Iterator[Scenario]:
        if self.effort.moves < 1:
            self.undriven = "not asked for"
            return
        for roles in (self.pair.first, self.pair.second):
            try:
                table = table_of(roles.controller)
            except BadUsage:
                continue
            yield from driven_stories(self.site, roles, table, self.seed, self.effort.moves)
            return
        self.undriven = "neither controller shows its table"

    def result(self) -> Compared:
        """What was tried."""
        return Compared(self.site, self.seed, self.pair, self.tried, self.effort.stories, self.undriven, self.ended)


def random_stories(site: Site, seed: int, count: int) -> Iterator[Scenario]:
    """So many random stories, the same for the same seed."""
    ground = Ground.of(site)
    for k in range(count):
        yield story(ground, Seeded(f"{seed}.{k}"), k, seed=seed)


def driven_stories(site: Site, roles: Roles, table: Any, seed: int, moves: int) -> Iterator[Scenario]:
    """Stories that led the first controller to each mode and input that a driver reached."""
    with Tap(table) as tap:
        driver = Driver(site, roles, Machine(table), tap, seed)
        driver.explore(moves)
    seen: set[int] = set()
    for nodes in driver.reached.values():
        for node in nodes:
            if id(node) not in seen and node.agenda:
                seen.add(id(node))
                yield Scenario(f"Driven story {len(seen)}", "A driver was led here by the controller's table.", site,
                               int(node.at) + AFTER, steps_of(node.agenda), (), seed=seed)


def _shortened(result: Compared, scenario: Scenario, difference: Difference, tries: Tries) -> Compared:
    """The result with its story shortened.  Where a controller dies it stands as it is: who knows what it costs."""
    pair, tree = result.pair, scenario_tree(scenario, SITE)
    if difference.died:
        return result._replace(found=scenario, tree=tree, difference=difference, steps_before=len(scenario.steps))

    def differs(candidate: Tree) -> bool:
        read = tries.scenario(candidate)
        again = None if read is None else pair.difference(read)
        return again is not None and not again.died

    if not differs(tree):  # the file says it otherwise than the search: it is told as it was found
        return result._replace(found=scenario, tree=tree, difference=difference, steps_before=len(scenario.steps))
    short = shorten(tree, differs)
    found = tries.scenario(short.tree)
    assert found is not None
    return result._replace(
        found=found, tree=short.tree, difference=pair.difference(found), steps_before=short.steps_before,
        candidates=short.tried, verdicts=verdict_changes(found, pair.first, pair.second))
