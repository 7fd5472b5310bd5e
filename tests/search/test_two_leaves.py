"""A gate of two leaves swept: each leaf's own move, rows that name the leaf, and what is claimed against grids."""

from __future__ import annotations

from pathlib import Path

import pytest

from gatesim import events as e
from gatesim.cli import known
from gatesim.events import Direction, LeafName
from gatesim.plant.faults.catalogue import faults, place
from gatesim.requirements.verdict import Outcome
from gatesim.run import default_roles, run_scenario
from gatesim.scenario.read import read_site
from gatesim.search.classes import Class
from gatesim.search.contacts import MEANS, MeansProber
from gatesim.search.ground import Ground, Phase, course_of
from gatesim.search.moments import Coverage, lay
from gatesim.search.probe import FaultProber, guards
from gatesim.search.sweep import Bench, Task, worst_story
from gatesim.units import us

SITES = Path(__file__).parents[2] / "scenarios" / "sites"
SITE = SITES / "foundry-court.site.yaml"


@pytest.fixture(scope="module")
def court() -> Bench:
    return Bench(read_site(SITE), default_roles(), 1, [Phase.BEFORE, Phase.TRAVEL])


def ground_of(court: Bench, direction: Direction, leaf: LeafName) -> Ground:
    return next(one for one in court.grounds if (one.direction, one.leaf, one.phase) == (direction, leaf, Phase.TRAVEL))


def test_each_leaf_has_its_own_move(court) -> None:
    for direction in Direction:
        assert sum((one.phase, one.direction) == (Phase.BEFORE, direction) for one in court.grounds) == 1
        for leaf in LeafName:
            ground = ground_of(court, direction, leaf)
            course = course_of(court.plant, court.site, 1, ground.agenda, ground.ends)
            marks = [(us(now), type(event)) for now, happened in course.play() for event in happened
                     if isinstance(event, e.LeafStarted | e.LeafStopped) and event.leaf is leaf]
            assert marks[-2:] == [(ground.first, e.LeafStarted), (ground.last, e.LeafStopped)]


def test_the_contactors_of_either_leaf_guard_their_direction(court) -> None:
    for device in ("closing", "second closing"):
        spot = place(faults()["contactor-welded"], court.site, device)
        assert guards(spot, Direction.CLOSING)
        assert not guards(spot, Direction.OPENING)


@pytest.mark.parametrize("leaf", list(LeafName))
def test_a_window_is_what_a_grid_of_a_microsecond_shows(court, leaf) -> None:
    ground = ground_of(court, Direction.CLOSING, leaf)
    spot = place(faults()["loop-open"], court.site, f"{leaf.value} front edge")
    prober = FaultProber(court.plant, court.site, 1, ground, spot)
    first = ground.first + 5_000_000
    laid = lay(first, first + 250, court.period, prober, lambda _: True)
    assert laid.coverage is Coverage.EXACT
    told = [prober(moment) for moment in range(first, first + 251)]
    assert {one.what for one in told} == set(laid.classes) == {Class.SAFE}
    assert max(us(one.reaction.measured) for one in told) == laid.worst.measured == laid.bound


@pytest.mark.parametrize("leaf", list(LeafName))
def test_a_contact_is_one_of_the_ground_s_leaf(court, leaf) -> None:
    ground = ground_of(court, Direction.CLOSING, leaf)
    torn = place(faults()["edge-torn-loose"], court.site, f"{leaf.value} front edge")
    others = place(faults()["edge-torn-loose"], court.site, f"{leaf.other.value} front edge")
    moment = ground.first + 6_000_000
    for spot, fails in ((None, False), (torn, True), (others, False)):
        said = MeansProber(court.plant, court.site, 1, ground, spot, ground.first)(moment)
        assert (said[MEANS[0]].outcome is Outcome.FAIL) is fails
        assert said[MEANS[2]].outcome is Outcome.PASS


def test_the_worst_moment_replays(court, tmp_path) -> None:
    number = court.grounds.index(ground_of(court, Direction.CLOSING, LeafName.SECOND))
    row = court.row(Task(0, "lost-link", "first transmitter", number, "permanent"), 0.3)
    assert (row.leaf, row.outcome, row.coverage) == (LeafName.SECOND, Class.SAFE, Coverage.INCOMPLETE)
    (tmp_path / "sites").mkdir()
    (tmp_path / "sites" / SITE.name).write_text(SITE.read_text())
    file = tmp_path / "worst.scenario.yaml"
    file.write_text(worst_story(court, row, f"sites/{SITE.name}"))
    assert "closing of the second leaf" in file.read_text()
    result = run_scenario(known.scenario(str(file)), default_roles(), keep=False)
    assert not result.differs
    verdict = next(one.verdict for one in result.rows if one.requirement == row.worst.requirement)
    assert verdict.figures.measured == row.worst.measured


def test_a_fault_without_effect_at_a_gate_of_two(court) -> None:
    """That one leaf comes to its end before the other is no interruption."""
    number = court.grounds.index(ground_of(court, Direction.OPENING, LeafName.FIRST))
    row = court.row(Task(0, "edge-torn-loose", "first front edge", number, "permanent"), 0.3)
    assert row.outcome is Class.NO_EFFECT
