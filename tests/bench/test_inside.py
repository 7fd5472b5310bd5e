"""Forks of logic in our own process: by its own copy, by looking at plain data, and by playing its calls again."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import pytest

from gatesim.bench.inside import Line, NotPlain, UnderTest, copied
from gatesim.errors import LogicError
from gatesim.events import (
    CommandRefused,
    Direction,
    Level,
    OrdersChanged,
    PowerLost,
    PowerReturned,
    SounderChanged,
    Stamped,
)
from gatesim.plant.logic.contract import ControllerDo, ControllerSeen, ControllerSettings
from gatesim.plant.logic.controller_reference import ReferenceController
from gatesim.requirements.verdict import Outcome


class InItself:
    """The reference, with its memory in the object: its state is None."""

    def __init__(self) -> None:
        self.inner = ReferenceController(by_library=False)
        self.memory: Any = None

    def start(self, settings: ControllerSettings, kept: bytes | None) -> tuple[Any, ControllerDo]:
        self.memory, do = self.inner.start(settings, kept)
        return None, do

    def step(self, state: Any, seen: ControllerSeen, now: float) -> tuple[Any, ControllerDo]:
        self.memory, do = self.inner.step(self.memory, seen, now)
        return None, do


class Hidden(InItself):
    """Its state is an object that nobody knows how to copy."""

    class Box:
        def __init__(self, memory: Any) -> None:
            self.memory = memory

    def start(self, settings: ControllerSettings, kept: bytes | None) -> tuple[Any, ControllerDo]:
        memory, do = self.inner.start(settings, kept)
        return self.Box(memory), do

    def step(self, state: Any, seen: ControllerSeen, now: float) -> tuple[Any, ControllerDo]:
        state.memory, do = self.inner.step(state.memory, seen, now)
        return state, do


def facts(result: Any) -> list[list[Stamped]]:
    return [list(section.events) for section in result.sections]


@pytest.mark.slow
@pytest.mark.parametrize("kind", [InItself, Hidden])
@pytest.mark.parametrize("name", ["first-look", "two-at-once", "power-back-in-mid-travel"])
def test_a_replayed_fork_is_the_forked_one(run, kind, name) -> None:
    said: list[str] = []
    plain = run(name, keep=True)
    replayed = run(name, keep=True, controller=UnderTest("controller", "X", kind(), kind, said.append))
    assert facts(replayed) == facts(plain)
    assert replayed.rows == plain.rows
    assert len(said) == 1
    assert "playing all its calls again" in said[0]


def test_nothing_is_said_of_a_state_that_copies_itself(run) -> None:
    said: list[str] = []
    run("first-look", controller=UnderTest("controller", "X", ReferenceController(), ReferenceController, said.append))
    assert said == []


@dataclass
class Plain:
    level: Level
    counts: dict[str, list[int]] = field(default_factory=dict)


def test_plain_data_is_copied_all_the_way_down() -> None:
    value = Plain(Level.REST, {"a": [1, 2]})
    other = copied((value, {3, 4}, frozenset({5}), bytearray(b"x"), None, 2.5))
    value.counts["a"].append(3)
    assert other[0] == Plain(Level.REST, {"a": [1, 2]})
    assert other[1:] == ({3, 4}, frozenset({5}), bytearray(b"x"), None, 2.5)


@pytest.mark.parametrize("value", [object(), [lambda: 0], {"a": iter(())}, (InItself(),)])
def test_what_nobody_can_see_into_is_not_plain(value) -> None:
    with pytest.raises(NotPlain):
        copied(value)


def test_a_dataclass_with_more_than_its_fields_is_not_plain() -> None:
    value = Plain(Level.REST)
    value.extra = 1  # type: ignore[attr-defined]
    with pytest.raises(NotPlain):
        copied(value)


def test_a_line_of_plain_data_forks_at_once_and_others_when_they_are_called() -> None:
    line = Line(None, {"a": [1]}, None)  # type: ignore[arg-type]
    fork = line.copy()
    line.value["a"].append(2)
    assert (fork.live, fork.value) == (True, {"a": [1]})
    assert not Line(None, None, None).copy().live  # type: ignore[arg-type]


class Moody(InItself):
    """Answers by how often its class was made."""

    made = 0

    def __init__(self) -> None:
        super().__init__()
        Moody.made += 1
        self.turn = Moody.made

    def step(self, state: Any, seen: ControllerSeen, now: float) -> tuple[Any, ControllerDo]:
        _, do = super().step(state, seen, now)
        return None, do._replace(mode=f"{do.mode} {self.turn}")


def test_logic_that_answers_otherwise_when_played_again_is_refused(run) -> None:
    with pytest.raises(LogicError, match="called again with the same, it answered otherwise at"):
        run("first-look", controller=UnderTest("controller", "X", Moody(), Moody))


def test_a_single_object_without_a_copy_cannot_be_forked(run) -> None:
    with pytest.raises(LogicError, match="name its class instead"):
        run("first-look", controller=UnderTest("controller", "X", InItself()))


class Changes(ReferenceController):
    def step(self, state: Any, seen: ControllerSeen, now: float) -> tuple[Any, ControllerDo]:
        return {}, super().step(state, seen, now)[1]


def test_a_state_that_loses_its_copy_is_refused(run) -> None:
    with pytest.raises(LogicError, match=r"a state with a copy\(\), step a dict without one"):
        run("first-look", controller=UnderTest("controller", "X", Changes()))


class OwnSupply(ReferenceController):
    """Can't be started anew."""

    power_cycles = False
    starts = 0

    def start(self, settings: ControllerSettings, kept: bytes | None) -> tuple[Any, ControllerDo]:
        OwnSupply.starts += 1
        return super().start(settings, kept)


def test_one_that_cannot_be_started_anew_is_not_judged_by_power_losses(run) -> None:
    OwnSupply.starts = 0
    result = run("alarm-and-power", controller=UnderTest("controller", "X", OwnSupply()))
    about = {row.requirement: row for row in result.rows
             if row.requirement in ("lockout-survives-power-loss", "alarm-outlives-power-loss")}
    assert OwnSupply.starts == 1
    assert {row.verdict.outcome for row in about.values()} == {Outcome.NOT_EXERCISED}
    assert all("can't be started anew" in row.verdict.reason for row in about.values())
    # What was expected of it was not shown.
    assert any(row.differs for row in about.values())
    # The reference, which can, is judged.
    assert any(row.verdict.outcome is Outcome.PASS for row in run("alarm-and-power").rows
               if row.requirement == "lockout-survives-power-loss")


class Sees(OwnSupply):
    """Notes what it is told of the supply, and orders a motion all the while."""

    told: list[tuple[float, bool]]

    def step(self, state: Any, seen: ControllerSeen, now: float) -> tuple[Any, ControllerDo]:
        if not Sees.told or Sees.told[-1][1] is not seen.supply_good:
            Sees.told.append((now, seen.supply_good))
        state, do = super().step(state, seen, now)
        return state, do if seen.supply_good else do._replace(order=Direction.OPENING, main=True, alarm=True)


def test_one_with_its_own_supply_is_told_that_the_operators_is_gone_and_acts_on_nothing(run) -> None:
    Sees.told = []
    result = run("alarm-and-power", keep=True, controller=UnderTest("controller", "X", Sees()))
    lost = [stamped.at for stamped in result.sections[0].events if isinstance(stamped.event, PowerLost)]
    back = [stamped.at for stamped in result.sections[0].events if isinstance(stamped.event, PowerReturned)]
    assert lost
    assert [at for at, good in Sees.told if not good] == lost
    assert [at for at, good in Sees.told if good][1:] == back
    dark = [stamped.event for stamped in result.sections[0].events if lost[0] < stamped.at < back[0]]
    assert not [event for event in dark if isinstance(event, OrdersChanged | SounderChanged | CommandRefused)]


def test_one_that_is_fed_by_the_operator_sees_a_good_supply_always(run) -> None:
    told: set[bool] = set()

    class Fed(ReferenceController):
        def step(self, state: Any, seen: ControllerSeen, now: float) -> tuple[Any, ControllerDo]:
            told.add(seen.supply_good)
            return super().step(state, seen, now)

    run("alarm-and-power", controller=UnderTest("controller", "X", Fed()))
    assert told == {True}
