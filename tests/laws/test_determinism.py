"""The same seed gives the same bytes, in another process under another hash seed too; a copy changes nothing."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from gatesim.events import Run, Stamped
from gatesim.plant.world import World, instant
from gatesim.scenario.agenda import agenda
from gatesim.trace import Section, Story, write

sys.path.insert(0, str(Path(__file__).parent))

from stories import lived, plant_of, story

TOLD = range(24)
ROOT = Path(__file__).parents[2]


def written(number: int, seed: int | None = None) -> bytes:
    """The trace file of a story."""
    told = story(number)
    section = Section(Run.WHOLE, 0, None, tuple(lived(told, seed=seed)), told.ends)
    return write(Story(told.site.name, told.seed if seed is None else seed, told.title, (section,)))


PRINTS = """
import sys
sys.path.insert(0, "tests/laws")
from hashlib import sha256
from test_determinism import TOLD, written
print(*(sha256(written(number)).hexdigest() for number in TOLD))
print(hash("gate"))
"""


@pytest.mark.slow
def test_other_processes_and_hash_seeds_give_the_same_bytes() -> None:
    said = []
    for seed in ("0", "4711"):
        env = os.environ | {"PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)}
        done = subprocess.run([sys.executable, "-c", PRINTS], cwd=ROOT, env=env, stdout=subprocess.PIPE, text=True,
                              check=True)
        said.append(done.stdout.splitlines())
    assert said[0][1] != said[1][1], "both processes hash alike: nothing was tried"
    assert said[0][0] == said[1][0]
    assert len(set(said[0][0].split())) == len(TOLD), "two stories give the same bytes"


@pytest.mark.slow
def test_another_seed_gives_another_trace_where_chance_has_a_say() -> None:
    unlike = 0
    for number in range(6):
        body = [written(number, seed).split(b"\n", 1)[1] for seed in (1, 1, 2)]
        assert body[0] == body[1]
        unlike += body[0] != body[2]
    assert unlike >= 4, "the seed hardly matters: jitter and spread are not drawn"


@pytest.mark.slow
def test_an_instant_lived_on_a_copy_as_well_is_the_same() -> None:
    lived_through = 0
    for number in range(20):
        told = story(number)
        plant, world, due = plant_of(told.site), World(plant_of(told.site), told.seed), list(agenda(told))
        while (now := min(world.deadline(), due[0].at if due else told.ends + 1)) <= told.ends:
            given = []
            while due and due[0].at <= now:
                given.append(due.pop(0).stimulus)
            copy, untouched = world.copy(), world.copy()
            on_copy = [Stamped(now, event) for event in instant(plant, copy, now, given)]
            assert world == untouched, "an instant on a copy changed the world it was copied from"
            assert [Stamped(now, event) for event in instant(plant, world, now, given)] == on_copy
            assert world == copy
            lived_through += 1
    assert lived_through > 1_000
