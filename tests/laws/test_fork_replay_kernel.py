"""Paced by the kernel, played without it, forked on the way, replayed: the same events at the same instants."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Any, ClassVar

import pytest

from gatesim.events import Announced, BeamInterrupted, BeamTested, LeafStarted, Stamped
from gatesim.plant import wires as w
from gatesim.plant.build import build
from gatesim.plant.part import Out, Phase, Wire
from gatesim.plant.world import Plant
from gatesim.run import Course, pace
from gatesim.units import FOREVER

sys.path.insert(0, str(Path(__file__).parent))

from stories import RAYS, S, course, lived, references, story, taker

FAST, MANY, BATCH = 300, 2_000, 6


def by_kernel(number: int, plant: Plant | None, lasts: int) -> list[Stamped]:
    begun, seen = course(story(number, lasts), plant)
    instants: list[float] = []
    pace(begun, lambda now, _: instants.append(now))
    assert instants == sorted(set(instants)), "an instant was lived twice"
    return seen


def by_fork(number: int, plant: Plant | None, lasts: int) -> tuple[list[Stamped], list[Stamped]]:
    """The traces of a fork taken on the way, and of the course that it was taken from, which goes on after it."""
    told = story(number, lasts)
    begun, seen = course(told, plant)
    at = Random(number).random() * told.ends
    ahead = iter(begun.play())
    for now, _ in ahead:
        if now >= at:
            break
    branch: list[Stamped] = list(seen)
    fork: Course = begun.copy(None, taker(branch))
    assert fork.world == begun.world
    for _ in fork.play():
        pass
    for _ in ahead:
        pass
    assert fork.world == begun.world
    assert fork.count == begun.count
    return branch, seen


def hold(numbers: range, plant: Plant | None = None, lasts: int = 8 * S) -> int:
    """Hold the law over these stories; in how many of them the leaf moved."""
    moved = 0
    for number in numbers:
        kernel = by_kernel(number, plant, lasts)
        assert lived(story(number, lasts), plant) == kernel, f"story {number}: without the kernel"
        branch, trunk = by_fork(number, plant, lasts)
        assert branch == kernel, f"story {number}: the fork"
        assert trunk == kernel, f"story {number}: the course that was forked"
        moved += any(type(event) is LeafStarted for _, event in kernel)
    return moved


@pytest.mark.parametrize("batch", range(FAST // BATCH))
def test_all_ways_to_live_a_story_agree(batch: int) -> None:
    assert hold(range(batch * BATCH, (batch + 1) * BATCH)) > 0, "none of these stories moves"


@pytest.mark.parametrize("batch", range(10))
def test_all_ways_to_live_a_story_with_beams_agree(batch: int) -> None:
    first = RAYS + batch * BATCH
    assert hold(range(first, first + BATCH)) > 0, "none of these stories moves"
    seen = [event for number in range(first, first + BATCH) for _, event in lived(story(number, 8 * S))]
    assert any(type(event) in (BeamInterrupted, BeamTested) for event in seen), "no beam does anything"


@pytest.mark.slow
def test_all_ways_to_live_many_stories_agree() -> None:
    assert hold(range(FAST, MANY), lasts=3 * S) > (MANY - FAST) // 2, "hardly any of these stories moves"


@dataclass(frozen=True, slots=True)
class Leaky:
    """A part whose forks share what changes: its count of calls, which it tells with every announcement."""

    name: str = "leaky"
    phase: ClassVar[Phase] = Phase.DRIVE
    rank: ClassVar[int] = 99
    takes: ClassVar[tuple[type, ...]] = ()

    def reads(self) -> tuple[Wire, ...]:
        return (w.Motion(),)

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ()

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> Shared:
        return Shared()

    def react(self, state: Shared, now: float, seen: list[Any], out: Out) -> float:
        state.calls.append(now)
        out.event(Announced(str(len(state.calls)), self.name))
        return FOREVER


class Shared:
    """A state of which all copies are one."""

    def __init__(self) -> None:
        self.calls: list[float] = []

    def copy(self) -> Shared:
        return self


def test_a_shared_state_is_noticed() -> None:
    plant = build(story(0).site, references(), [lambda site, roles: (Leaky(),)])
    with pytest.raises(AssertionError, match="the course that was forked"):
        hold(range(0, 30, 3), plant)
