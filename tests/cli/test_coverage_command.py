"""`gatesim coverage` as a user gives it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from gatesim.plant.logic.controller_table import TABLE
from gatesim.search.machine import Machine

LAMP = Path(__file__).parents[1] / "search" / "lamp_logic.py"


@pytest.fixture
def story(scenarios) -> Path:
    return scenarios / "healthy-both-ways.scenario.yaml"


def test_what_a_scenario_reaches_in_words(gatesim, story) -> None:
    said = gatesim("coverage", story)
    assert said.code == 0
    assert "unreachable states: none" in said.out
    assert "states: 9 of 18" in said.out
    assert "never in: warning before automatic closing, stopping to lock out" in said.out
    assert "Suite by the W-method" in said.out
    assert "not that it was right" in said.out


def test_the_same_in_json_with_the_suite(gatesim, story, tmp_path) -> None:
    said = gatesim("coverage", story, "--format", "json", "--suite", tmp_path / "suite.jsonl")
    answer = json.loads(said.out)
    assert (said.code, answer["format"], answer["driven"]) == (0, "gatesim-coverage/1", None)
    table = answer["table"]
    assert answer["transitions"]["reached"] + len(answer["transitions"]["never"]) == answer["transitions"]["of"] == len(
        table)
    assert answer["pairs"]["reached"] + len(answer["pairs"]["never"]) == answer["pairs"]["of"]
    # A pair's first transition leads where its second begins.
    assert all(table[a].rpartition(" -> ")[2] == table[b].partition(": ")[0] for a, b in answer["pairs"]["never"])
    head, *words = [json.loads(line) for line in (tmp_path / "suite.jsonl").read_text().splitlines()]
    assert head["words"] == len(words) == answer["suite"]["words"]
    assert all(len(one["inputs"]) == len(one["actions"]) == len(one["states"]) - 1 for one in words)


def test_an_unreachable_and_a_trap_state_are_exit_code_1(gatesim, story) -> None:
    said = gatesim("coverage", story, "--controller", f"{LAMP}:Lamp")
    assert said.code == 1
    assert "unreachable states: spare" in said.out
    assert "states that nothing leaves: stuck" in said.out
    assert "states: 2 of 4" in said.out


def test_a_controller_that_never_asks_is_said_to_tell_nothing(gatesim, story) -> None:
    said = gatesim("coverage", story, "--controller", f"{LAMP}:Mute")
    assert "never asked its table" in said.out
    assert "never asked its table" in said.err
    assert "states: 0 of 4" in said.out


def test_a_controller_without_a_table_is_refused(gatesim, story, tmp_path) -> None:
    (tmp_path / "bare.py").write_text("class Bare:\n    def start(self, settings, kept): ...\n"
                                      "    def step(self, state, seen, now): ...\n")
    said = gatesim("coverage", story, "--controller", f"{tmp_path / 'bare.py'}:Bare")
    assert said.code == 2
    assert "has no TABLE" in said.err


def test_nothing_to_run_is_exit_code_5(gatesim, tmp_path) -> None:
    assert gatesim("coverage", tmp_path).code == 5


@pytest.mark.slow
def test_a_driven_suite(gatesim, story, scenarios) -> None:
    site = scenarios / "sites" / "orchard-row.site.yaml"
    args = ("coverage", story, "--drive", site, "--moves", "400", "--budget", "1")
    said = gatesim(*args)
    assert said.code == 0
    assert "not exercised:" in said.out
    assert "They are no pass" in said.out
    machine = Machine(TABLE)
    count = len(machine.modes) * len(machine.inputs)
    answer = json.loads(gatesim(*args, "--format", "json").out)["driven"]
    assert answer["transitions"] == count
    assert 0 < len(answer["transitions_not_exercised"]) < count
    alone = answer["wrong_tables_alone"]["W-method"]["wrong target"]
    assert alone["made"] == len(TABLE.rows) * (len(machine.modes) - 1)
    assert alone["noticed"] == alone["made"] - alone["equal"]
