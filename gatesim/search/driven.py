"""The W-suite with the plant around it: which of its steps a driver can produce, and which wrong tables are noticed.

A step of the suite is a transition (a mode with an input) followed by a word of the characterising set.  Any history
that leads to the mode will do for the state cover, so the driver's own histories are it.  Between the wanted inputs
only such may be asked as the table ignores there.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise
from typing import NamedTuple

from gatesim.plant.logic.contract import Roles
from gatesim.plant.site import Site
from gatesim.scenario.agenda import Due
from gatesim.search.machine import Machine
from gatesim.search.steer import Ask, Driver, Node, Shown, in_order
from gatesim.search.suites import Distinct, Word, distinct, each_transition, random_walk, w_method
from gatesim.search.tap import Tap, table_of
from gatesim.search.wrong_tables import Change, Mutant, Score, Trial, mutants

W_METHOD, EACH = "W-method", "each transition once"
TRIES = 6
"""Moves tried for one wanted input."""
TAIL = 3_000_000
"""How long (us) outputs are looked at after a word."""
WALKS, LENGTH = 20, 30
"""Random stories for comparison, and moves in each."""


class Trip(NamedTuple):
    """From a world before a transition: what comes from outside, and until when outputs are looked at."""

    begin: Node
    given: tuple[Due, ...]
    ends: float


Trips = dict[tuple[int, int], list[Trip]]
"""For each transition the tests that pass through it."""


class Noticed(NamedTuple):
    """What a suite, run through the contract, notices of one kind of wrong table.  `equal` ones can't be noticed."""

    made: int
    equal: int
    exercised: int
    """Of the others, those whose change some history of the driver meets."""
    noticed: int


class Driven(NamedTuple):
    """What the driver did."""

    site: str
    moves: int
    seconds: float
    transitions: int
    """Modes with inputs that the suite asks for."""
    produced: frozenset[tuple[int, int]]
    steps: int
    """Transitions with each word of the characterising set."""
    exercised: int
    words: tuple[Word, ...]
    alone: dict[str, dict[Change, Score]]
    """By suite, on the finite machine alone: the W-suite, each transition once, a random walk."""
    noticed: dict[str, dict[Change, Noticed]]
    """By suite, through the contract: the W-suite, each transition once, random stories."""
    survivors: tuple[Mutant, ...]
    """Wrong tables whose change the W-suite met and did not notice."""
    judged: bool
    """Whether all wrong tables were tried before time was over."""


def drive(site: Site, roles: Roles, seed: int, moves: int, budget: float | None = None,
          chosen: Callable[[tuple[Mutant, ...]], Sequence[Mutant]] | None = None) -> Driven:
    """Explore, exercise the suite, and try wrong tables, within a budget (s): a third of it for each.

    The finite machine's own part takes its few seconds in any case.  `chosen` picks some of the wrong tables; without
    it all are tried.
    """
    begun = time.perf_counter()
    table = table_of(roles.controller)
    machine = Machine(table)
    with Tap(table) as tap:
        driver = Driver(site, roles, machine, tap, seed)
        driver.explore(moves, None if budget is None else budget / 3)
        told = distinct(machine, _liked(machine, driver))

        def more() -> bool:
            return budget is None or time.perf_counter() - begun < budget * 2 / 3

        w_tests, exercised = _suffixes(driver, told, more)
        once = {place: [_only(nodes[0])] for place, nodes in driver.reached.items()}
        walks = _walks(driver, seed, more)
        suites = {W_METHOD: w_tests, EACH: once, "random stories": walks}
        made = mutants(table)
        trial = Trial(machine, made if chosen is None else chosen(made))
        alone = _alone(machine, trial, told, seed)
        jury = _Jury(driver, tap, None if budget is None else time.perf_counter() + budget / 3)
        noticed = {name: jury.scores(trial, tests) for name, tests in suites.items()}
    count = len(machine.reached) * len(machine.inputs)
    return Driven(site.name, driver.tried, time.perf_counter() - begun, count, frozenset(driver.reached),
                  count * len(told.words), exercised, told.words, alone, noticed, tuple(jury.survivors), jury.whole)


def _alone(machine: Machine, trial: Trial, told: Distinct, seed: int) -> dict[str, dict[Change, Score]]:
    """The same wrong tables on the finite machine, where every input can be given."""
    suites = {W_METHOD: w_method(machine, told), EACH: each_transition(machine),
              "random walk of 5000": random_walk(machine, 5_000, seed)}
    return {name: trial.scores(suite) for name, suite in suites.items()}


def _liked(machine: Machine, driver: Driver) -> tuple[int, ...]:
    """The inputs, those first that the driver produces in most modes: words of these can be exercised."""
    modes = [0] * len(machine.inputs)
    for _, x in driver.reached:
        modes[x] += 1
    return tuple(sorted(range(len(machine.inputs)), key=lambda x: -modes[x]))


def _only(node: Node) -> Trip:
    """The transition alone."""
    assert node.parent is not None
    return Trip(node.parent, node.given, node.at)


def _suffixes(driver: Driver, told: Distinct, more: Callable[[], bool]) -> tuple[Trips, int]:
    """For each transition produced a test with each word that can be made to follow it; how many there are."""
    tests: Trips = {}
    count = 0
    for (mode, given), nodes in sorted(driver.reached.items()):
        words = told.words if more() else ()
        found = [trip for word in words
                 if (trip := _followed(driver, nodes, (mode, given), word)) is not None]
        count += len(found)
        tests[mode, given] = [*found, _only(nodes[0])]
    return tests, count


def _followed(driver: Driver, nodes: Sequence[Node], place: tuple[int, int], word: Word) -> Trip | None:
    """A test of a transition with this word after it."""
    for node in nodes:
        at = next(k for k, ask in enumerate(node.asks) if (ask.mode, ask.given) == place)
        left = _rest(node.asks[at + 1:], word)
        if left == ():
            return _only(node)._replace(ends=node.at + TAIL)
        if left is not None and (steps := _bring(driver, node, left)) is not None:
            assert node.parent is not None
            return Trip(node.parent, in_order(node.given, steps[0]), steps[1] + TAIL)
    return None


def _rest(asks: Iterable[Ask], word: Word) -> Word | None:
    """What of the word is still wanted after these asks; None where something else was answered."""
    for ask in asks:
        if not word:
            break
        if ask.given == word[0]:
            word = word[1:]
        elif ask.row >= 0:
            return None
    return word


def _bring(driver: Driver, node: Node, word: Word) -> tuple[tuple[Due, ...], float] | None:
    """Stimuli that bring the word next, and until when; None where none of the moves tried does."""
    for step in node.children:
        if _rest(step.asks, word) == ():
            return step.fresh, step.ends
    mode = driver.mode_of(node)
    moves = [*driver.how.get((mode, word[0]), ()), *driver.likely.get(word[0], ())]
    for move in list(dict.fromkeys(moves))[:TRIES]:
        child = driver.step(node, move)
        left = None if child is None else _rest(child.asks, word)
        if child is None or left is None or len(left) == len(word):
            continue
        fresh = node.children[-1].fresh
        if not left:
            return fresh, child.at
        if (more := _bring(driver, child, left)) is not None:
            return in_order(fresh, more[0]), more[1]
    return None


def _walks(driver: Driver, seed: int, more: Callable[[], bool]) -> Trips:
    """Random stories, each a test of all that it passes through, from there to its end."""
    tests: Trips = {}
    for number in range(WALKS):
        if not more():
            break
        chance = random.Random(seed * 1_000 + number)
        chain = [driver.root()]
        for _ in range(LENGTH):
            child = driver.step(chain[-1], driver.move(chance, len(chain[-1].agenda)))
            if child is not None:
                chain.append(child)
        been: set[tuple[int, int]] = set()
        for parent, node in pairwise(chain):
            given = in_order(parent.coming, tuple(due for due in chain[-1].agenda if due.at > parent.at))
            given = tuple(dict.fromkeys(given))
            for ask in node.asks:
                if (ask.mode, ask.given) not in been:
                    been.add((ask.mode, ask.given))
                    tests.setdefault((ask.mode, ask.given), []).append(Trip(parent, given, chain[-1].at))
    return tests


class _Jury:
    """Runs wrong tables in the place of the right one, and compares what goes out."""

    def __init__(self, driver: Driver, tap: Tap, until: float | None) -> None:
        self.driver, self.tap, self.until = driver, tap, until
        self.right: dict[int, list[tuple[float, Shown]]] = {}
        self.survivors: list[Mutant] = []
        self.whole = True
        tap.note = None

    def scores(self, trial: Trial, tests: Trips) -> dict[Change, Noticed]:
        """How these tests do."""
        found = {change: [0, 0, 0, 0] for change in Change}
        first = not self.survivors and not self.right
        for mutant, wrong, equal in zip(trial.mutants, trial.wrong, trial.equal, strict=True):
            if self.until is not None and time.perf_counter() > self.until:
                self.whole = False
                break
            line = found[mutant.change]
            line[0] += 1
            line[1] += equal
            through = [test for place in wrong.changed for test in tests.get(place, ())]
            if equal or not through:
                continue
            line[2] += 1
            seen = self._seen(mutant, through)
            line[3] += seen
            if first and not seen:
                self.survivors.append(mutant)
        return {change: Noticed(*line) for change, line in found.items()}

    def _seen(self, mutant: Mutant, tests: Iterable[Trip]) -> bool:
        wrong = mutant.table(self.tap.table)
        for test in tests:
            right = self.right.get(id(test))
            if right is None:
                right = self.right[id(test)] = self.driver.play(test.begin.world, test.given, test.ends)
            self.tap.by = wrong
            try:
                if self.driver.play(test.begin.world, test.given, test.ends) != right:
                    return True
            finally:
                self.tap.by = self.tap.table
        return False
