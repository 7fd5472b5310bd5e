"""Stories made by choices, and stories out of stimuli: what a file says of them reads back as the same story."""

from __future__ import annotations

from pathlib import Path

import pytest

from gatesim.cli import known
from gatesim.plant.logic.controller_reference import ReferenceController
from gatesim.run import default_roles
from gatesim.scenario import model as m
from gatesim.scenario.agenda import agenda
from gatesim.search.compare import SITE, driven_stories, random_stories
from gatesim.search.random_stories import TURNS, Ground, Seeded, story
from gatesim.search.steps import scenario_tree, step_tree, steps_of
from gatesim.search.tap import table_of
from gatesim.search.tries import site_tree, tries

SITES = Path(__file__).parents[2] / "scenarios" / "sites"


@pytest.mark.slow
@pytest.mark.parametrize("name", ["mill-lane", "ferry-steps", "foundry-court"])
def test_a_story_written_as_a_file_reads_back_as_it_was(name) -> None:
    file = str(SITES / f"{name}.site.yaml")
    with tries(site_tree(file), known.scenario) as tried:
        for told in random_stories(known.site(file), 7, 25):
            read = tried.scenario(scenario_tree(told, SITE))
            assert read is not None
            assert (read.steps, read.ends, read.seed, read.site) == (told.steps, told.ends, told.seed, told.site)


def test_the_same_seed_tells_the_same_and_another_one_does_not() -> None:
    site = known.site(SITES / "mill-lane.site.yaml")
    assert list(random_stories(site, 3, 20)) == list(random_stories(site, 3, 20))
    assert list(random_stories(site, 3, 20)) != list(random_stories(site, 4, 20))


def test_every_fault_has_its_turn_and_stories_are_short() -> None:
    site = known.site(SITES / "mill-lane.site.yaml")
    ground = Ground.of(site)
    told = [story(ground, Seeded(f"1.{k}"), k) for k in range(1000)]
    met = {(step.fault, step.device) for one in told for step in one.steps if isinstance(step, m.Fault)}
    assert len(met) > 0.9 * len(ground.spots)
    assert max(len(one.steps) for one in told) < 6 * TURNS
    assert {step.do for one in told for step in one.steps} >= {"command", "obstruct", "press", "fault", "lose power"}


@pytest.mark.slow
def test_a_driven_story_is_steps_that_give_its_stimuli() -> None:
    file = str(SITES / "ferry-steps.site.yaml")
    site = known.site(file)
    roles = default_roles()._replace(controller=ReferenceController(by_library=False))
    stories = list(driven_stories(site, roles, table_of(roles.controller), 1, 250))
    assert len(stories) > 20
    with tries(site_tree(file), known.scenario) as tried:
        for one in stories[:25]:
            read = tried.scenario(scenario_tree(one, SITE))
            assert read is not None
            assert read.steps == one.steps
            # Steps out of stimuli give those stimuli again.
            assert steps_of(agenda(read)) == steps_of(agenda(one))


def test_a_step_says_only_what_is_not_so_by_default() -> None:
    step = m.PressEdge(do="press", at=1_500_000, edge="front edge")
    assert step_tree(step) == {"at": "1.5 s", "do": "press", "edge": "front edge"}
    assert step_tree(m.GiveCommand(do="command", at=0, command=m.Command.OPEN, held=2_000_000))["held"] == "2 s"
