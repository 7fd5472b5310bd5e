"""The law of the traced run: what it claims for other moments, plain runs at those moments say as well.

Plain runs know nothing of claims, orders or trails.  Each planted defect takes away one thing that a claim rests on,
and the law must catch it where it was once missing.
"""

from __future__ import annotations

import random
from pathlib import Path as File
from typing import Any

import pytest

from gatesim.plant.faults.catalogue import faults, place
from gatesim.run import default_roles
from gatesim.scenario.read import read_site
from gatesim.search import noting, ordering
from gatesim.search.classes import Told
from gatesim.search.ground import Phase
from gatesim.search.path import Path
from gatesim.search.probe import INTERMITTENT, PERMANENT, TRANSIENT, FaultProber, Pulse
from gatesim.search.sweep import Bench
from gatesim.search.traced import Traced

SITES = File(__file__).parents[2] / "scenarios" / "sites"


def bench(name: str) -> Bench:
    return Bench(read_site(SITES / f"{name}.site.yaml"), default_roles(), 1, list(Phase))


@pytest.fixture(scope="module")
def mill_lane() -> Bench:
    return bench("mill-lane")


@pytest.fixture(scope="module")
def orchard_row() -> Bench:
    return bench("orchard-row")


def prober(made: Bench, fault: str, device: str, ground: int, pulse: Pulse = PERMANENT) -> FaultProber:
    spot = place(faults()[fault], made.site, device)
    return FaultProber(made.plant, made.site, made.seed, made.grounds[ground], spot, pulse)


def agrees(told: Told, plain: Told, d: int, k: int) -> bool:
    """Whether a run speaks true for a moment that lies d, and k periods, ahead."""
    if told.what is not plain.what or (told.reaction is None) != (plain.reaction is None):
        return False
    if told.reaction is None or plain.reaction is None:
        return True
    measured, left_out = told.reaction.measured, 0.0
    if isinstance(measured, Traced):
        measured, left_out = measured.at(d, k), measured.err * abs(d) ** 3
    # Each is rounded to whole microseconds for itself.
    return (told.reaction.requirement == plain.reaction.requirement
            and abs(measured - plain.reaction.measured) <= 1.001 + left_out)


def wrong(
    made: Bench, tried: FaultProber, alone: FaultProber, begin: int, runs: int, chance: random.Random
) -> list[Any]:
    """Claims of successive runs, from a moment on, that a plain run contradicts."""
    ground, found, moment = tried.ground, [], begin
    for _ in range(runs):
        path = Path()
        told = tried(Traced(float(moment), 1.0, float(made.period), path))
        claim = path.claim(ground.first - moment, ground.last - moment)
        most = max(0, min(claim.turns, (ground.last - moment - claim.last) // made.period))
        points = {(claim.first, 0), (claim.last, 0), (claim.first, most), (claim.last, most)}
        points.add((chance.randint(claim.first, claim.last), chance.randint(0, most)))
        for d, k in sorted(points):
            plain = alone(moment + d + k * made.period)
            if not agrees(told, plain, d, k):
                found.append((moment, d, k, told, plain))
        moment += claim.last + 1 + most * made.period
        if moment > ground.last:
            break
    return found


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("name", ["mill_lane", "orchard_row"])
def test_what_a_run_claims_plain_runs_say(name: str, seed: int, request: pytest.FixtureRequest) -> None:
    made: Bench = request.getfixturevalue(name)
    chance = random.Random(f"{name} {seed}")
    tasks = made.tasks(sorted(faults()), (PERMANENT, TRANSIENT, INTERMITTENT))
    for task in chance.sample(tasks, 3):
        pulse = next(one for one in (PERMANENT, TRANSIENT, INTERMITTENT) if one.title == task.pulse)
        tried = prober(made, task.fault, task.device, task.ground, pulse)
        alone = prober(made, task.fault, task.device, task.ground, pulse)
        begin = chance.randint(tried.ground.first, tried.ground.last)
        assert wrong(made, tried, alone, begin, 5, chance) == [], f"{task}, seed {seed}"


def travel(made: Bench, direction: str) -> int:
    return next(k for k, one in enumerate(made.grounds)
                if one.phase is Phase.TRAVEL and one.direction.value == direction)


def caught(made: Bench, fault: str, device: str, begin: int) -> bool:
    ground = travel(made, "opening")
    tried, alone = prober(made, fault, device, ground), prober(made, fault, device, ground)
    return wrong(made, tried, alone, begin, 2, random.Random(1)) != []


def test_a_check_in_that_would_have_been_sent_is_missed(mill_lane: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """A dead node sends nothing; put off beyond a check-in, it would have sent that."""
    assert not caught(mill_lane, "cell-dead", "front transmitter", 1_564_255)
    monkeypatch.setattr(ordering._Orders, "with_the_future", lambda *_: None)
    assert caught(mill_lane, "cell-dead", "front transmitter", 1_564_255)


def test_who_watches_has_eyes(orchard_row: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """A fault after the leaf has stopped is watched for longer than one before."""
    assert not caught(orchard_row, "stays-pressed", "rear edge", 24_778_112)
    monkeypatch.setattr(noting, "WATCH", 0)
    assert caught(orchard_row, "stays-pressed", "rear edge", 24_778_112)


def test_a_trail_that_ended_before_a_command_is_not_joined_after_it(
    orchard_row: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A short fault that heals before the leaf is sent back, and one that heals right after."""

    def contradicted() -> bool:
        ground = next(k for k, one in enumerate(orchard_row.grounds)
                      if one.phase is Phase.REVERSAL and one.direction.value == "opening")
        tried, alone = (prober(orchard_row, "strip-bridged", "rear edge", ground, TRANSIENT) for _ in range(2))
        return wrong(orchard_row, tried, alone, 12_850_001, 4, random.Random(1)) != []

    assert not contradicted()
    real = ordering.Ending.shifted

    def forgetful(ending: ordering.Ending, put: Any) -> ordering.Ending:
        made = real(ending, put)
        return made._replace(known=made.last.value if isinstance(made.last, Traced) else made.last)

    monkeypatch.setattr(ordering.Ending, "shifted", forgetful)
    assert contradicted()


def test_what_has_nothing_in_common_costs_no_run(mill_lane: Bench) -> None:
    """An edge torn off shows when it is pressed: the whole travel is one region and its ends."""
    tried = prober(mill_lane, "edge-torn-loose", "rear edge", travel(mill_lane, "opening"))
    path = Path()
    tried(Traced(float(tried.ground.first + 6_000_000), 1.0, float(mill_lane.period), path))
    claim = path.claim(-6_000_000, 15_000_000)
    assert claim.last - claim.first > 15_000_000


def test_a_later_run_joins_an_earlier_one(mill_lane: Bench) -> None:
    """The moment at which a scan is made differs from those before it in one instant; the rest is not lived again."""
    tried = prober(mill_lane, "loop-open", "front edge", travel(mill_lane, "closing"))
    moment, lived = tried.ground.first + 6_000_000, []
    for _ in range(3):
        path = Path()
        tried(Traced(float(moment), 1.0, float(mill_lane.period), path))
        lived.append(tried.lived)
        moment += path.claim(-moment, 10_000).last + 1
    assert lived[0] > 12
    assert min(lived[1:]) < 4
