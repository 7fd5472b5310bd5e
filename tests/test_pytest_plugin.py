"""Scenario files as test items: names, choice by -k, -m and --lf, failures that tell, and one run for all items."""

from __future__ import annotations

import json
import subprocess
import sys
from importlib.metadata import entry_points
from pathlib import Path
from xml.etree import ElementTree

import pytest

from gatesim import pytest_items, pytest_plugin, testing
from gatesim.cli.wanted import Wanted
from gatesim.pytest_plugin import OPTIONS

ROOT = Path(__file__).parents[1]
INSTALLED = "gatesim" in entry_points(group="pytest11").names
BARE = ("-p", "no:hypothesispytest", "-p", "no:pytest_cov")

STORY = """format: gatesim-scenario/1
title: {title}
teaches: Two requirements are listed.
site: sites/orchard-row.site.yaml
{more}seed: 7
ends: 4 s
steps:
  - {{at: 1 s, do: command, command: open, held: 300 ms}}
expect:
  - requirement: never-both-directions
  - requirement: motion-agrees-with-order
"""
LATE = """format: gatesim-scenario/1
title: A limit that nothing can keep
teaches: The reversal takes longer.
site: sites/orchard-row.site.yaml
ends: 12 s
overrides:
  - {setting: leaf_at, value: 3.8 m}
steps:
  - {at: 1 s, do: command, command: close}
  - {at: 5 s, do: obstruct, obstruction: block, zone: closing gap, position: 2.5 m}
expect:
  - requirement: never-both-directions
  - requirement: reversal-begun
    limit: 20 ms
  - requirement: lost-link-found
"""
DIES = """
from gatesim.plant.logic.controller_reference import ReferenceController
class Dies(ReferenceController):
    def step(self, state, seen, now):
        if now > 1_000_000:
            raise ValueError("no \\x1b[31m more")
        return super().step(state, seen, now)
"""


@pytest.fixture(scope="module", autouse=True)
def loaded() -> None:
    """What a run imports is imported here: a run of pytest in this process forgets what it was the first to import."""
    testing.run(ROOT / "scenarios/wired-edge.scenario.yaml").told("peak-force")


@pytest.fixture
def place(pytester: pytest.Pytester) -> pytest.Pytester:
    """A project with a site and one scenario that comes out as expected."""
    sites = pytester.mkdir("sites")
    (sites / "orchard-row.site.yaml").write_text((ROOT / "scenarios/sites/orchard-row.site.yaml").read_text())
    write(pytester, "moves", STORY.format(title="It moves", more="tags: [wired, quick]\n"))
    return pytester


def write(place: pytest.Pytester, name: str, text: str) -> None:
    (place.path / f"{name}.scenario.yaml").write_text(text)


def tried(place: pytest.Pytester, *args: str) -> pytest.RunResult:
    """Pytest with the plugin, in this process."""
    ours = [] if INSTALLED else [pytest_plugin]
    return place.runpytest_inprocess(*BARE, "-p", "no:xdist", *args, plugins=ours)


@pytest.fixture
def runs(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The files of the scenarios that were run."""
    real, seen = testing.run_scenario, []

    def counted(scenario, *args, **more):  # type: ignore[no-untyped-def]
        seen.append(scenario.file)
        return real(scenario, *args, **more)

    monkeypatch.setattr(testing, "run_scenario", counted)
    return seen


def test_an_item_for_each_listed_requirement_and_one_for_the_others(place, runs) -> None:
    said = tried(place, "-v")
    assert said.parseoutcomes() == {"passed": 3}
    said.stdout.fnmatch_lines([
        "moves.scenario.yaml::never-both-directions PASSED*",
        "moves.scenario.yaml::motion-agrees-with-order PASSED*",
        "moves.scenario.yaml::others PASSED*",
    ])
    assert runs == ["moves.scenario.yaml"]


def test_nothing_runs_before_an_item_does(place, runs) -> None:
    assert tried(place, "--collect-only", "-q").ret == 0
    assert runs == []


def test_items_are_chosen_by_words_tags_and_ids(place, runs) -> None:
    write(place, "stays", STORY.format(title="Another", more=""))
    assert tried(place, "-k", "moves and others", "--strict-markers").parseoutcomes() == {"passed": 1, "deselected": 5}
    assert tried(place, "-m", "quick and wired", "--strict-markers").parseoutcomes() == {"passed": 3, "deselected": 3}
    assert tried(place, "stays.scenario.yaml::never-both-directions").parseoutcomes() == {"passed": 1}
    assert runs == ["moves.scenario.yaml", "moves.scenario.yaml", "stays.scenario.yaml"]


def test_a_failure_tells_where_by_how_much_and_how_to_see_it_again(place) -> None:
    write(place, "late", LATE)
    said = tried(place, "-rA", "--junitxml=out.xml", "-o", "junit_family=xunit1", "late.scenario.yaml")
    assert said.parseoutcomes() == {"passed": 2, "failed": 2}
    said.stdout.fnmatch_lines([
        "late.scenario.yaml:13: reversal-begun: expected pass, got fail: too late",
        "*limit 20.0 ms, margin -*",
        "The story around it*",
        "> *gate * touches block while closing*",
        "seed 1; the same again: gatesim run late.scenario.yaml --seed 1",
        "late.scenario.yaml:15: lost-link-found: expected pass, got not exercised",
        "FAILED late.scenario.yaml::reversal-begun - got fail: too late*",
    ])
    cases = {case.get("name"): case for case in ElementTree.parse(place.path / "out.xml").iter("testcase")}
    late = {one.get("name"): one.get("value") for one in cases["reversal-begun"].iter("property")}
    assert (late["seed"], late["limit_us"], late["outcome"]) == ("1", "20000", "fail")
    assert int(late["margin_us"]) == int(late["limit_us"]) - int(late["measured_us"]) < 0
    assert (cases["reversal-begun"].get("file"), cases["reversal-begun"].get("line")) == ("late.scenario.yaml", "12")
    others = {one.get("name"): one.get("value") for one in cases["others"].iter("property")}
    assert others["fail"] == "0"
    assert int(others["not exercised"]) > 0


def test_what_is_not_listed_fails_as_others(place) -> None:
    write(place, "late", LATE.partition("  - requirement: reversal-begun")[0])
    with (place.path / "sites/orchard-row.site.yaml").open("a") as site:
        site.write("limit_overrides:\n  - {requirement: reversal-begun, limit: 20 ms, source: invented}\n")
    said = tried(place, "late.scenario.yaml")
    assert said.parseoutcomes() == {"passed": 1, "failed": 1}
    said.stdout.fnmatch_lines(["late.scenario.yaml:11: reversal-begun: expected no failure (not listed), got fail*"])


def test_only_what_failed_is_run_again(place) -> None:
    write(place, "late", LATE)
    assert tried(place).parseoutcomes() == {"passed": 5, "failed": 2}
    said = tried(place, "--lf", "-v")
    assert said.parseoutcomes() == {"failed": 2}
    assert "moves.scenario.yaml::" not in said.stdout.str()


def test_a_file_that_does_not_load_is_one_failing_item(place) -> None:
    write(place, "broken", STORY.format(title="x", more="").replace("command: open", "command: opne"))
    write(place, "skips", STORY.format(title="x", more="tags: [skip]\n"))
    said = tried(place)
    assert said.parseoutcomes() == {"passed": 3, "failed": 2}
    said.stdout.fnmatch_lines([
        "broken.scenario.yaml:8:*'opne' is not one of the words for this*did you mean 'open'*",
        "*the tag 'skip' is a marker of pytest's own*",
        "FAILED broken.scenario.yaml::loads*",
    ])


def test_a_controller_that_raises_fails_every_item_and_says_where(place, runs) -> None:
    (place.path / "dies.py").write_text(DIES)
    said = tried(place, "--gatesim-controller", "dies.py:Dies")
    assert said.parseoutcomes() == {"failed": 3}
    said.stdout.fnmatch_lines([
        "moves.scenario.yaml:10: not judged: LogicError: controller dies.py:Dies died in step at *",
        "raised at dies.py:6, in step: raise ValueError*",
        "seed 7; the same again: gatesim run moves.scenario.yaml --seed 7 --controller dies.py:Dies",
    ])
    assert "\x1b[31m more" not in said.stdout.str()
    assert runs == ["moves.scenario.yaml"]


def test_settings_stand_in_the_projects_file_and_the_command_line_goes_before(place) -> None:
    (place.mkdir("logic") / "dies.py").write_text(DIES)
    place.makeini("[pytest]\ngatesim_controller = logic/dies.py:Dies\ngatesim_seed = 3\n")
    said = tried(place, "-k", "others")
    assert said.parseoutcomes() == {"failed": 1, "deselected": 2}
    said.stdout.fnmatch_lines(["seed 3; the same again: * --seed 3 --controller logic/dies.py:Dies"])
    reference = "gatesim.plant.logic.controller_reference:ReferenceController"
    assert tried(place, "--gatesim-controller", reference).parseoutcomes() == {"passed": 3}
    assert tried(place, "--gatesim-seed", "-1").parseoutcomes() == {"failed": 3}


def test_a_fixture_runs_a_scenario_with_the_sessions_logic(place) -> None:
    place.makepyfile("""
        from gatesim.testing import assert_met

        def test_it_moves(gatesim_run):
            played = gatesim_run("moves.scenario.yaml")
            assert played.seed == 9
            assert gatesim_run(played.scenario, seed=2).seed == 2
            assert_met(played, "never-both-directions")
            assert_met(played, "lost-link-found")
    """)
    said = tried(place, "--gatesim-seed", "9", "-k", "test_it_moves")
    assert said.parseoutcomes() == {"failed": 1, "deselected": 3}
    said.stdout.fnmatch_lines(["E *moves.scenario.yaml:10: lost-link-found: expected no failure*got not exercised"])


def test_an_item_that_is_run_again_is_run_anew(place, runs) -> None:
    place.makeconftest("""
        def pytest_runtest_protocol(item, nextitem):
            from _pytest.runner import runtestprotocol
            runtestprotocol(item, nextitem=item, log=False)
    """)
    assert tried(place, "-k", "others").parseoutcomes() == {"passed": 1, "deselected": 2}
    assert runs == ["moves.scenario.yaml"] * 2


def test_workers_share_out_the_files(place) -> None:
    write(place, "late", LATE)
    write(place, "broken", "format: gatesim-scenario/1\n")
    ours = () if INSTALLED else ("-p", "gatesim.pytest_plugin")
    said = place.runpytest_inprocess(*BARE, *ours, "-n", "2", "--dist", "loadfile", "-q", "-m", "not nothing")
    counts = said.parseoutcomes()
    assert (counts["passed"], counts["failed"]) == (5, 3)
    said.stdout.fnmatch_lines(["*late.scenario.yaml:13: reversal-begun: expected pass, got fail: too late"])


def test_the_options_are_those_of_the_command_line() -> None:
    assert set(OPTIONS) == {"seed", *Wanted._fields}


def test_the_door_loads_nothing_of_gatesim() -> None:
    """Every run of pytest where gatesim is installed pays for what the plugin imports."""
    code = (
        "import sys, pytest, json; before = set(sys.modules); import gatesim.pytest_plugin; "
        "print(json.dumps(sorted(set(sys.modules) - before)))"
    )
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert json.loads(said.stdout) == ["gatesim", "gatesim.pytest_plugin"]


def test_no_requirement_has_the_name_of_an_item_of_ours() -> None:
    assert not {pytest_items.OTHERS, pytest_items.LOADS} & set(pytest_items.known.requirements())
