"""What a controller puts out in a story, and where two of them first differ.

Each controller has a plant of its own, and both plants get the same from outside: up to the first difference both
controllers have seen the same, so that difference is theirs.
"""

from __future__ import annotations

from enum import Enum
from typing import Any, NamedTuple

from gatesim.errors import LogicError
from gatesim.plant.build import build
from gatesim.plant.logic.contract import ControllerDo, ControllerSeen, Roles
from gatesim.plant.world import World
from gatesim.requirements.verdict import Outcome
from gatesim.run import Course, run_scenario
from gatesim.scenario.agenda import agenda
from gatesim.scenario.model import Scenario
from gatesim.search.ground import nothing
from gatesim.units import us

LEVELS = ("order", "slow", "main", "brake", "alarm", "lockout", "armed", "ask")
"""What goes out by wire."""
SAID = ("refused", "notices", "tested")
"""What is told once."""


class By(Enum):
    """What is compared."""

    OUTPUTS = "outputs"
    """What goes out by wire; which command is refused, and which device announced."""
    WORDS = "words"
    """The same, with the texts."""
    VERDICTS = "verdicts"
    """What every requirement says of the run."""


class Put(NamedTuple):
    """Outputs from an instant (us) on, and what was told in it."""

    at: int
    levels: tuple[Any, ...]
    said: tuple[tuple[Any, ...], ...]


class Difference(NamedTuple):
    """Where two controllers first differ: from `at` (us) on, in these members; `first` and `second` put out this."""

    at: int
    members: tuple[str, ...]
    first: tuple[str, ...]
    second: tuple[str, ...]
    died: bool = False
    """One of them died there."""


class _Noting:
    """A controller whose outputs are noted; all else is its own."""

    def __init__(self, controller: Any, by: By) -> None:
        self._controller, self._by = controller, by
        self.puts: list[Put] = []

    def __getattr__(self, name: str) -> Any:
        return getattr(self._controller, name)

    def start(self, settings: Any, kept: bytes | None) -> tuple[Any, ControllerDo]:
        """The controller's own `start`; its first `step` comes in the same instant."""
        started: tuple[Any, ControllerDo] = self._controller.start(settings, kept)
        return started

    def step(self, state: Any, seen: ControllerSeen, now: float) -> tuple[Any, ControllerDo]:
        """The controller's own `step`."""
        state, do = self._controller.step(state, seen, now)
        self._note(us(now), tuple([getattr(do, name) for name in LEVELS]), _said(do, self._by))
        return state, do

    def _note(self, at: int, levels: tuple[Any, ...], said: tuple[tuple[Any, ...], ...]) -> None:
        """Of several calls in one instant the last one's levels stand; what is told is told."""
        if self.puts and self.puts[-1].at == at:
            last = self.puts.pop()
            said = tuple([(*old, *new) for old, new in zip(last.said, said, strict=True)])
        before = self.puts[-1].levels if self.puts else None
        if levels != before or any(said):
            self.puts.append(Put(at, levels, said))


def _said(do: ControllerDo, by: By) -> tuple[tuple[Any, ...], ...]:
    if by is By.WORDS:
        return (do.refused, do.notices, do.tested)
    return (tuple([(command.value, origin.value) for command, origin, *_ in do.refused]),
            tuple([device for _, device in do.notices]), do.tested)


class Noted(NamedTuple):
    """What was noted of a story."""

    puts: tuple[Put, ...]
    died: str
    """How the controller died; "" where it did not."""


def noted(scenario: Scenario, roles: Roles, by: By) -> Noted:
    """The outputs of a controller in a story."""
    noting = _Noting(roles.controller, by)
    plant = build(scenario.site, roles._replace(controller=noting))
    course = Course(plant, World(plant, scenario.seed), agenda(scenario), scenario.ends, None, nothing)
    died = ""
    try:
        for _ in course.play():
            pass
    except LogicError as error:
        died = str(error)
    return Noted(tuple(noting.puts), died)


def differ(first: Noted, second: Noted, ends: int, slack: int) -> Difference | None:
    """Where two first differ; None where they do not.  The same output may come `slack` (us) earlier or later."""
    if first.puts == second.puts and first.died == second.died:
        return None
    old = _Old()
    for one, other in zip(first.puts, second.puts, strict=False):
        if one[1:] != other[1:] or abs(one.at - other.at) > slack:
            return old.difference(one, other, slack)
        old.seen(one)
    count = min(len(first.puts), len(second.puts))
    if first.died or second.died:
        return Difference(ends, ("the logic",), (first.died or "goes on",), (second.died or "goes on",), died=True)
    rest = first.puts[count:] or second.puts[count:]
    if not rest or rest[0].at > ends - slack:
        return None
    stays = Put(ends, old.levels or rest[0].levels, ((),) * len(SAID))
    return old.difference(rest[0], stays, 0) if first.puts[count:] else old.difference(stays, rest[0], 0)


class _Old:
    """What both put out last."""

    def __init__(self) -> None:
        self.levels: tuple[Any, ...] | None = None

    def seen(self, put: Put) -> None:
        """Both put this out."""
        self.levels = put.levels

    def difference(self, one: Put, other: Put, slack: int) -> Difference:
        """The difference of two entries: at the earlier one, against what stands of the other until then."""
        at = min(one.at, other.at)
        if abs(one.at - other.at) > slack:
            stays = self.levels
            if one.at > at:
                one = one._replace(levels=stays if stays is not None else one.levels, said=((),) * len(SAID))
            else:
                other = other._replace(levels=stays if stays is not None else other.levels, said=((),) * len(SAID))
        names = [*LEVELS, *SAID]
        pairs = [(name, a, b) for name, a, b in
                 zip(names, (*one.levels, *one.said), (*other.levels, *other.said), strict=True) if a != b]
        return Difference(at, tuple([name for name, _, _ in pairs]), tuple([said(a) for _, a, _ in pairs]),
                          tuple([said(b) for _, _, b in pairs]))


def said(value: Any) -> str:
    """A value of an output for people."""
    if value is None or value == ():
        return "nothing"
    if isinstance(value, bool):
        return "on" if value else "off"
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, tuple):
        return ", ".join(said(part) for part in value if part != "") if value else "nothing"
    return str(value)


class VerdictChange(NamedTuple):
    """A requirement of which two runs say different things."""

    requirement: str
    first: str
    second: str


def verdict_changes(scenario: Scenario, first: Roles, second: Roles) -> tuple[VerdictChange, ...]:
    """The requirements whose verdicts differ.  LogicError where a controller dies."""
    both = [_verdicts(scenario, roles) for roles in (first, second)]
    return tuple([VerdictChange(name, both[0][name], both[1][name])
                  for name in both[0] if both[0][name] != both[1][name]])


def _verdicts(scenario: Scenario, roles: Roles) -> dict[str, str]:
    rows = run_scenario(scenario, roles, keep=False).rows
    return {row.requirement: row.verdict.outcome.value
            + (f": {row.verdict.failure}" if row.verdict.outcome is Outcome.FAIL else "") for row in rows}
