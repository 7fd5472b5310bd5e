"""Paced by the kernel, played without it, forked on the way, replayed: the same events at the same instants."""

from __future__ import annotations

import os
import sys
from concurrent.futures import ProcessPoolExecutor
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

from stories import RAYS, SITES, S, course, lived, references, shipped, story, taker
from ways import Held, hold_short

FAST, MANY, BATCH = 300, 2_000, 6
SHORT, SHARE = 10_000, 250


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


@pytest.mark.slow
def test_ten_thousand_short_stories_agree(record_property) -> None:
    """At least ten thousand cases, each written out in full and compared as text."""
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        begins = range(0, SHORT, SHARE)
        held = sum(pool.map(hold_short, begins, [begin + SHARE for begin in begins]), Held())
    record_property("held", str(held))
    assert held.differ == ()
    assert held.stories == SHORT
    # The stories are worth living: the leaf moves, faults act, and the forks have something before them.
    assert held.moved > SHORT * 0.7
    assert held.faulty > SHORT * 0.15
    assert held.forked > SHORT * 0.5
    assert held.events > 20 * SHORT


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
        hold(range(0, 10 * len(SITES), len(SITES)), plant)


def test_a_shared_state_is_noticed_in_short_stories() -> None:
    plant = build(shipped("orchard-row"), references(), [lambda site, roles: (Leaky(),)])
    assert hold_short(0, 30, plant).differ
