"""Generated scenarios: each loads from the file that is written of it, as the same, and can be run."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import find, given, settings
from hypothesis import strategies as st

from gatesim import strategies
from gatesim.cli import known
from gatesim.scenario import model as m
from gatesim.scenario.model import Scenario
from gatesim.testing import as_file, load, run

SCENARIOS = Path(__file__).parents[1] / "scenarios"
SITES = {path.name.split(".")[0]: known.site(path) for path in sorted(SCENARIOS.glob("sites/*.site.yaml"))}
"""All of them, so that each kind of device, and two leaves, are met."""
WIRED = "orchard-row"


def again(scenario: Scenario, folder: Path, site: str | None = None) -> Scenario:
    """What is read from the file that is written of it, less where it was read."""
    file = folder / "again.scenario.yaml"
    file.write_text(as_file(scenario, site), encoding="utf-8")
    return bare(load(file))


def bare(scenario: Scenario) -> Scenario:
    return replace(scenario, file="", site_file="", expected_at=())


@settings(max_examples=30)
@given(st.sampled_from(sorted(SITES)).flatmap(lambda name: st.tuples(st.just(name), strategies.scenarios(SITES[name]))))
def test_every_scenario_reads_back_as_it_was(tmp_path_factory, named) -> None:
    name, scenario = named
    folder = tmp_path_factory.mktemp("story")
    assert again(scenario, folder) == scenario, name


@settings(max_examples=12)
@given(strategies.scenarios(SITES[WIRED], ends=6_000_000, max_steps=3))
def test_every_scenario_can_be_run(scenario) -> None:
    played = run(scenario)
    assert played.rows.keys() == known.requirements().keys()
    assert played.replay() == f"seed {scenario.seed}"


def test_every_kind_of_step_is_drawn() -> None:
    drawn: set[type] = set()

    @settings(max_examples=80)
    @given(strategies.scenarios(SITES["ferry-steps"]))
    def look(scenario: Scenario) -> None:
        drawn.update(type(step) for step in scenario.steps)
        assert isinstance(scenario.steps[0], m.GiveCommand)
        assert all(0 <= step.at <= scenario.ends for step in scenario.steps)

    look()
    assert drawn == {m.GiveCommand, m.Obstruct, m.PressEdge, m.Interrupt, m.Fault, m.LosePower, m.PushLeaf}


@given(strategies.scenarios(SITES[WIRED], steps=strategies.faults(SITES[WIRED], kinds=["sounder-dead"]), min_steps=2))
@settings(max_examples=10)
def test_what_may_happen_can_be_chosen(scenario) -> None:
    assert {step.fault for step in scenario.steps[1:]} == {"sounder-dead"}


def test_the_plainest_story_comes_first() -> None:
    """What a failing story shrinks towards: one short command at once."""
    least = find(strategies.scenarios(SITES[WIRED], max_steps=1), lambda _: True, settings=settings(max_examples=5))
    (command,) = least.steps
    assert (command.at, command.command.value, command.held, least.seed) == (0, "open", strategies.GRAIN, 0)


@pytest.mark.parametrize("path", sorted(SCENARIOS.glob("*.scenario.yaml"))[::4], ids=lambda path: path.stem)
def test_shipped_scenarios_are_written_as_they_were_read(path, tmp_path) -> None:
    scenario = load(path)
    # The site stands in the file, with the overrides applied; and once more by the site's path, with them stated.
    assert again(scenario, tmp_path) == replace(bare(scenario), overrides=())
    shutil.copytree(SCENARIOS / "sites", tmp_path / "sites")
    assert again(scenario, tmp_path, f"sites/{Path(scenario.site_file).name}") == bare(scenario)
