"""A driver that steers a plant so that wanted triggers happen with wanted guards.

It tries its moves from worlds that it has already reached, by forks, and keeps each world in which the controller's
table was asked something for the first time.  Everything runs through the controller's role, with the plant around it.
What it did not produce may be impossible or only not tried: it is *not exercised*, and no more is claimed.
"""

from __future__ import annotations

import random
import time
from collections import Counter
from typing import Any, NamedTuple

from gatesim.errors import GatesimError
from gatesim.plant.build import build
from gatesim.plant.fsm import Row
from gatesim.plant.logic.contract import ControllerDo, ControllerSeen, Roles
from gatesim.plant.site import Site
from gatesim.plant.world import World
from gatesim.run import Course
from gatesim.scenario.agenda import Due
from gatesim.search.ground import nothing
from gatesim.search.machine import Input, Machine, asked_by
from gatesim.search.moves import DELAYS, WAIT, Move, both, breaking, handling
from gatesim.search.tap import Holds, Noted, Tap

HORIZON, WAITING = 12_000_000, 90_000_000
"""How long (us) a move, or a wait, is played on while the table answers nothing."""
INSTANTS = 400
"""And through how many instants."""
SOME = 0.05
"""How many of the worlds in which nothing is new are kept all the same."""
KNOWN = 4
"""Moves remembered for each mode and input."""
SPARE = 3
"""Worlds kept for each mode and input."""


class Ask(NamedTuple):
    """One question to the table: mode, input, and the place of the row that answered (-1: ignored)."""

    mode: int
    given: int
    row: int


class Node:
    """A world reached, and how: from `parent`, with `given` to come, of which `coming` is still to come.

    `asks` is what was asked on the way from the parent; `agenda` all that came from outside since power-up.
    """

    __slots__ = ("agenda", "asks", "at", "children", "coming", "given", "parent", "world")

    def __init__(self, world: World, at: float, agenda: tuple[Due, ...], given: tuple[Due, ...],
                 coming: tuple[Due, ...], asks: tuple[Ask, ...], parent: Node | None) -> None:
        self.world, self.at, self.agenda, self.given, self.coming = world, at, agenda, given, coming
        self.asks, self.parent = asks, parent
        self.children: list[Step] = []


class Step(NamedTuple):
    """A move made from a node: what it brought, when it ended, and what was asked meanwhile."""

    fresh: tuple[Due, ...]
    ends: float
    asks: tuple[Ask, ...]


def in_order(first: tuple[Due, ...], second: tuple[Due, ...]) -> tuple[Due, ...]:
    """Both in the order of their instants; of equal ones the first's come first."""
    return tuple(sorted((*first, *second), key=lambda due: due.at))


Shown = tuple[Any, ...]
"""What of a controller's outputs a test sees: all that goes out by wire, and what is announced; not the mode."""


def shown(do: ControllerDo) -> Shown:
    """The outputs that a test may see."""
    return (do.order, do.slow, do.main, do.brake, do.alarm, do.lockout, do.armed, do.ask, do.notices, do.refused,
            do.tested)


class Driver:
    """One site with the controller under the tap.  To be used while the tap is open."""

    def __init__(self, site: Site, roles: Roles, machine: Machine, tap: Tap, seed: int) -> None:
        self.site, self.machine, self.tap, self.seed = site, machine, tap, seed
        self.seats = {mode: k for k, mode in enumerate(machine.modes)}
        self.guards = asked_by(machine.table)
        self.places: dict[int, int] = machine.places
        self._asks: list[Ask] = []
        self._shown: list[tuple[float, Shown]] = []
        listened = Noted(tap.listened(roles.controller), lambda: None, self._put_out)
        tap.note = self._note
        self.plant = build(site, roles._replace(controller=listened))
        self.reached: dict[tuple[int, int], list[Node]] = {}
        """For each mode and input produced, the worlds just after it."""
        self.how: dict[tuple[int, int], dict[Move, None]] = {}
        """For each mode and input the moves that once brought it next in a mode."""
        self.tried = 0
        self._handling, self._breaking = handling(site), breaking(site)
        self._any: dict[int, list[Node]] = {}
        self._fresh: dict[int, list[Node]] = {}
        self._begun: Counter[int] = Counter()
        self._stands: tuple[Any, ...] = ()
        self._stood: set[tuple[Any, ...]] = set()

    def _put_out(self, now: float, do: ControllerDo, seen: ControllerSeen | None) -> None:
        self._shown.append((now, shown(do)))
        # What tells worlds of one mode apart without a look into the controller.
        ends = (False, False, False) if seen is None else (seen.at_closed, seen.at_open, seen.motion is None)
        self._stands = (do.order, do.lockout, do.armed, do.alarm, *ends)

    def _note(self, mode: Any, trigger: Any, holds: Holds, row: Row | None) -> None:
        given = Input(trigger, frozenset(guard for guard in self.guards[trigger] if holds(guard)))
        place = -1 if row is None else self.places.get(id(row), len(self.places))
        self._asks.append(Ask(self.seats[mode], self.machine.number[given], place))

    def root(self) -> Node:
        """Power-up."""
        return Node(World(self.plant, self.seed), 0.0, (), (), (), (), None)

    def play(self, world: World, given: tuple[Due, ...], ends: float) -> list[tuple[float, Shown]]:
        """What a fork of this world puts out until an instant; an error of the logic under test is shown as such."""
        self._asks, self._shown = [], []
        course = Course(self.plant, world.copy(), given, int(ends) + 1, None, nothing)
        try:
            while (now := course.next()) <= ends:
                course.live(now)
        except Exception as error:  # noqa: BLE001 - whatever a wrong table makes of the logic is seen by a test
            self._shown.append((course.world.now, (type(error).__name__,)))
        return self._shown

    def step(self, node: Node, move: Move) -> Node | None:
        """Make a move and play until the table answers, or is asked what it never was; None where the plant refuses."""
        self.tried += 1
        begin = int(node.at) + 1
        fresh = tuple(Due(begin + delay, stimulus) for delay, stimulus in move.stimuli)
        given = in_order(node.coming, fresh)
        self._asks, asks = [], []
        course = Course(self.plant, node.world.copy(), given, begin + (HORIZON if move.stimuli else WAITING), None,
                        nothing)
        try:
            for lived, _ in enumerate(course.play()):
                if lived > INSTANTS:
                    break
                if self._asks:
                    asks += self._asks
                    stop = any(ask.row >= 0 or (ask.mode, ask.given) not in self.reached for ask in self._asks)
                    self._asks = []
                    if stop:
                        break
        except GatesimError:
            return None
        at = course.world.now
        node.children.append(Step(fresh, at, tuple(asks)))
        for ask in asks:
            known = self.how.setdefault((ask.mode, ask.given), {})
            if len(known) < KNOWN:
                known[move] = None
            if ask.row >= 0:
                break
        return Node(course.world, at, in_order(node.agenda, fresh), given, given[course.next_due:], tuple(asks), node)

    def explore(self, steps: int, budget: float | None = None) -> None:
        """Drive on, by chance but the same for the same seed: so many moves, or until time (s) is over.

        The mode to start from is the one least often started from; in it a world where something new was asked, or any.
        """
        begun, chance = time.perf_counter(), random.Random(self.seed)
        self._pool(self.root(), fresh=True)
        for _ in range(steps):
            if budget is not None and time.perf_counter() - begun > budget:
                return
            node = self._chosen(chance)
            child = self.step(node, self.move(chance, len(node.agenda)))
            if child is None:
                continue
            stands = (self.mode_of(child), self._stands)
            fresh = self._keep(child)
            if fresh or stands not in self._stood or chance.random() < SOME:
                self._pool(child, fresh=fresh)
            self._stood.add(stands)

    def _pool(self, node: Node, *, fresh: bool) -> None:
        mode = self.mode_of(node)
        self._any.setdefault(mode, []).append(node)
        if fresh:
            self._fresh.setdefault(mode, []).append(node)

    def _chosen(self, chance: random.Random) -> Node:
        mode = min(self._any, key=lambda mode: self._begun[mode])
        self._begun[mode] += 1
        fresh = self._fresh.get(mode, [])
        nodes = fresh if fresh and chance.random() < 0.5 else self._any[mode]
        # Of two, the one with the shorter story: less of the gate is broken in it.
        return min((nodes[chance.randrange(len(nodes))] for _ in range(2)), key=lambda node: len(node.agenda))

    def move(self, chance: random.Random, number: int) -> Move:
        """A move at random; `number` keeps names apart."""
        kind = chance.random()
        if kind < 0.25:
            return WAIT
        moves = self._handling if kind < 0.85 else self._breaking
        move = moves[chance.randrange(len(moves))].named(number).later(chance.choice(DELAYS))
        if chance.random() < 0.15:  # two things at about the same time
            other = self._handling[chance.randrange(len(self._handling))].named(number + 1)
            move = both(move, other.later(chance.choice(DELAYS)))
        return move

    def mode_of(self, node: Node) -> int:
        """The mode that a node's last answer left."""
        here: Node | None = node
        while here is not None:
            for ask in reversed(here.asks):
                return ask.mode if ask.row < 0 else self.machine.after[ask.mode][ask.given]
            here = here.parent
        return self.machine.first

    @property
    def likely(self) -> dict[int, dict[Move, None]]:
        """For each input the moves that once brought it, in whatever mode."""
        found: dict[int, dict[Move, None]] = {}
        for (_, given), moves in self.how.items():
            found.setdefault(given, {}).update(moves)
        return found

    def _keep(self, node: Node) -> bool:
        new = False
        for ask in node.asks:
            place = (ask.mode, ask.given)
            known = self.reached.setdefault(place, [])
            if not known:
                new = True
            if len(known) < SPARE and (not known or known[-1] is not node):
                known.append(node)
        return new
