"""Three ways to live a short story, over many of them, in worker processes: what the large law is held by."""

from __future__ import annotations

import sys
from pathlib import Path
from random import Random
from typing import NamedTuple

from gatesim.events import LeafStarted, Stamped, WireDisturbed
from gatesim.plant.world import Plant
from gatesim.run import pace

sys.path.insert(0, str(Path(__file__).parent))

from stories import course, short_story, taker


class Held(NamedTuple):
    """How many stories were lived in every way, in how many the leaf moved, a fault acted, and the fork was taken with
    something still to come; and the first ones that differ."""

    stories: int = 0
    moved: int = 0
    faulty: int = 0
    forked: int = 0
    events: int = 0
    differ: tuple[str, ...] = ()

    def __add__(self, other: Held) -> Held:  # type: ignore[override]
        return Held(*(a + b for a, b in zip(self, other, strict=True)))


def written(seen: list[Stamped]) -> str:
    """Every figure in full: -0.0 is not 0.0, and a whole number not a broken one."""
    return repr(seen)


def hold_short(first: int, last: int, plant: Plant | None = None) -> Held:
    """Hold the law over the short stories of these numbers (the last one left out)."""
    return sum((_one(number, plant) for number in range(first, last)), Held())


def _one(number: int, plant: Plant | None) -> Held:
    told = short_story(number)
    begun, kernel = course(told, plant)
    pace(begun, lambda now, _: None)
    trunk, replayed = course(told, plant, seed=told.seed)
    at, ahead = Random(number).random() * told.ends, iter(trunk.play())
    for now, _ in ahead:
        if now >= at:
            break
    branch = list(replayed)
    before = len(branch)
    fork = trunk.copy(None, taker(branch))
    for _ in fork.play():
        pass
    for _ in ahead:
        pass
    right = written(kernel)
    ways = {"the fork": written(branch), "replayed, and forked on the way": written(replayed)}
    differ = tuple(f"story {number}: {way}" for way, got in ways.items() if got != right)
    if fork.world != trunk.world or fork.count != begun.count:
        differ += (f"story {number}: what is left of the world",)
    kinds = {type(event) for _, event in kernel}
    return Held(1, LeafStarted in kinds, WireDisturbed in kinds, before < len(branch), len(kernel), differ)
