"""Which states, transitions and pairs of transitions of a controller's table a set of scenarios reaches.

Each scenario is run whole, through the controller's contract with the plant around it; what stands between two starts
of the controller (a loss of power) makes no pair.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, NamedTuple

from gatesim.plant.build import build
from gatesim.plant.fsm import Row
from gatesim.plant.logic.contract import ControllerDo, ControllerSeen, Roles
from gatesim.plant.world import World
from gatesim.run import Course
from gatesim.scenario.agenda import agenda
from gatesim.scenario.model import Scenario
from gatesim.search.ground import nothing
from gatesim.search.machine import Findings, Input, Machine, asked_by, examine, pairs_of, row_words
from gatesim.search.tap import Holds, Noted, Tap, table_of


class Hearing:
    """What is heard at the tap: states, rows, pairs of rows, and inputs."""

    def __init__(self, machine: Machine) -> None:
        self.machine = machine
        self.asks = asked_by(machine.table)
        self.states: set[Any] = set()
        self.rows: set[int] = set()
        self.pairs: set[tuple[int, int]] = set()
        self.inputs: set[tuple[Any, int]] = set()
        self.questions = 0
        self.path: list[int] = []
        """The rows used, in order, through losses of power too."""
        self._last: int | None = None

    def begun(self) -> None:
        """The controller starts: nothing stands before what comes now."""
        self._last = None

    def put_out(self, now: float, do: ControllerDo, seen: ControllerSeen | None) -> None:
        """Outputs are not looked at."""

    def note(self, mode: Any, trigger: Any, holds: Holds, row: Row | None) -> None:
        """One question to the table."""
        self.questions += 1
        given = Input(trigger, frozenset(guard for guard in self.asks[trigger] if holds(guard)))
        self.inputs.add((mode, self.machine.number[given]))
        self.states.add(mode)
        if row is None:
            return
        place = self.machine.places[id(row)]
        self.states.add(row.target)
        self.rows.add(place)
        self.path.append(place)
        if self._last is not None:
            self.pairs.add((self._last, place))
        self._last = place


class LogicCover(NamedTuple):
    """What came of it.  Places are those of the table's rows."""

    machine: Machine
    findings: Findings
    scenarios: int
    questions: int
    states: frozenset[Any]
    rows: frozenset[int]
    pairs: frozenset[tuple[int, int]]
    all_pairs: tuple[tuple[int, int], ...]
    inputs: frozenset[tuple[Any, int]]

    @property
    def unused_states(self) -> tuple[Any, ...]:
        """Never reached."""
        return tuple(mode for mode in self.machine.modes if mode not in self.states)

    @property
    def unused_rows(self) -> tuple[Row, ...]:
        """Never used."""
        return tuple(row for k, row in enumerate(self.machine.table.rows) if k not in self.rows)

    @property
    def unused_pairs(self) -> tuple[tuple[int, int], ...]:
        """Never used one after the other."""
        return tuple(pair for pair in self.all_pairs if pair not in self.pairs)

    def words(self, place: int) -> str:
        """A row in words."""
        return row_words(self.machine.table.rows[place])


def cover(scenarios: Iterable[Scenario], roles: Roles, seed: int | None = None) -> LogicCover:
    """Run the scenarios and listen.  BadUsage where the controller has no table; LogicError if it dies."""
    machine = Machine(table_of(roles.controller))
    heard, count = Hearing(machine), 0
    for scenario in scenarios:
        count += 1
        _listen(heard, scenario, roles, seed)
    return LogicCover(machine, examine(machine), count, heard.questions, frozenset(heard.states),
                      frozenset(heard.rows), frozenset(heard.pairs), pairs_of(machine), frozenset(heard.inputs))


def path(scenario: Scenario, roles: Roles, seed: int | None = None) -> tuple[int, ...]:
    """The rows of the controller's table (their places) that a scenario uses, in order.  As `cover`."""
    heard = Hearing(Machine(table_of(roles.controller)))
    _listen(heard, scenario, roles, seed)
    return tuple(heard.path)


def _listen(heard: Hearing, scenario: Scenario, roles: Roles, seed: int | None) -> None:
    """Run a scenario whole with the tap open."""
    with Tap(heard.machine.table) as tap:
        tap.note = heard.note
        roles = roles._replace(controller=Noted(tap.listened(roles.controller), heard.begun, heard.put_out))
        plant = build(scenario.site, roles)
        used = scenario.seed if seed is None else seed
        course = Course(plant, World(plant, used), agenda(scenario), scenario.ends, None, nothing)
        heard.begun()
        for _ in course.play():
            pass
