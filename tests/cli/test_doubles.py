"""`gatesim doubles`: what it says, in words and as JSON, and its exit codes."""

from __future__ import annotations

import json
import shutil

import pytest

FORMAT = "gatesim-doubles/1"


def test_what_is_caught_and_what_is_not(gatesim, scenarios) -> None:
    said = gatesim("doubles", scenarios / "frame-corrupted.scenario.yaml", "--double", "receiver-sum-last",
                   "--double", "controller-ping-pong", "--format", "json", "--jobs", 1)
    found = json.loads(said.out)
    assert said.code == 1
    assert found["format"] == FORMAT
    rows = {one["name"]: one for one in found["doubles"]}
    assert (rows["receiver-sum-last"]["outcome"], rows["controller-ping-pong"]["outcome"]) == ("caught", "missed")
    assert rows["receiver-sum-last"]["by"].endswith("frame-corrupted.scenario.yaml")
    assert rows["controller-ping-pong"]["by"] is None
    assert rows["controller-ping-pong"]["bug"].startswith("Every contact is the first one")
    assert found["summary"] == {"run": 2, "caught": 1, "missed": 1, "equivalent": 0, "not_run": 0}


def test_the_words(gatesim, scenarios) -> None:
    said = gatesim("doubles", scenarios / "frame-corrupted.scenario.yaml", "--double", "receiver-sum-last",
                   "--double", "controller-ping-pong", "--jobs", 1)
    assert "These scenarios catch 1 of 2 defective doubles; 1 would pass as good logic." in said.out
    assert "C1   " in said.out


def test_all_caught_is_0_and_an_equivalent_is_no_miss(gatesim, scenarios) -> None:
    said = gatesim("doubles", scenarios / "frame-corrupted.scenario.yaml", "--double", "receiver-sum-last",
                   "--double", "receiver-old-echo", "--jobs", 1)
    assert said.code == 0
    assert "These scenarios catch 1 of 1 defective doubles. 1 more cannot be told from the reference." in said.out


def test_a_scenario_that_the_reference_fails_is_said_and_catches_nothing(gatesim, scenarios, tmp_path) -> None:
    text = (scenarios / "frame-corrupted.scenario.yaml").read_text()
    wrong = tmp_path / "wrong.scenario.yaml"
    wrong.write_text(text.replace("requirement: fault-in-motion", "requirement: alarm-lasts"))
    shutil.copytree(scenarios / "sites", tmp_path / "sites")
    said = gatesim("doubles", wrong, "--double", "receiver-sum-last", "--jobs", 1, "--format", "json")
    assert said.code == 2
    assert "left out, it is not as expected with the reference itself: alarm-lasts: not exercised" in said.err
    assert json.loads(said.out)["summary"]["run"] == 0
    both = gatesim("doubles", wrong, scenarios / "frame-corrupted.scenario.yaml", "--double", "receiver-sum-last",
                   "--jobs", 1)
    assert both.code == 2
    assert "catch 1 of 1" in both.out


def test_nothing_found_is_5_and_bad_input_is_2(gatesim, tmp_path, scenario) -> None:
    assert gatesim("doubles", tmp_path).code == 5
    broken = tmp_path / "a.scenario.yaml"
    broken.write_text("format: gatesim-scenario/1\n")
    said = gatesim("doubles", broken, "--double", "receiver-sum-last", "--jobs", 1)
    assert said.code == 2
    assert "No double was run: nothing is shown about these scenarios." in said.out
    said = gatesim("doubles", scenario, "--double", "receiver-sum-first")
    assert said.code == 2
    assert "did you mean 'receiver-sum-last'?" in said.err


def test_mutants_are_told_apart_with_a_score(gatesim, scenario) -> None:
    said = gatesim("doubles", scenario, "--double", "receiver-swapped", "--mutants", 12, "--seed", 3, "--jobs", 1,
                   "--format", "json")
    found = json.loads(said.out)
    score = found["mutation_score"]
    assert len(found["mutants"]) == score["run"] == score["caught"] + score["missed"] == 12
    assert score["not_run"] == 0
    assert score["per_cent"] == round(100 * score["caught"] / 12, 1)
    assert found["summary"]["run"] == 1
    words = gatesim("doubles", scenario, "--double", "receiver-swapped", "--mutants", 3, "--jobs", 1)
    assert "of 3 caught, mutation score " in words.out
    assert "not run: 0" in words.out


@pytest.mark.parametrize("wrong", ["0", "-1", "some", "1.5"])
def test_a_count_is_a_count(gatesim, scenario, wrong) -> None:
    assert gatesim("doubles", scenario, f"--mutants={wrong}").code == 2


def test_ended_by_hand_keeps_what_is_done(gatesim, scenarios, monkeypatch) -> None:
    from gatesim.search import trial

    real = trial.trials_of

    def ended(*args, **kwargs):
        yield next(iter(real(*args, **kwargs)))
        raise KeyboardInterrupt

    monkeypatch.setattr(trial, "trials_of", ended)
    said = gatesim("doubles", scenarios / "frame-corrupted.scenario.yaml", "--double", "receiver-sum-last",
                   "--double", "receiver-waits", "--jobs", 1, "--format", "json")
    assert said.code == 130
    assert "interrupted: 1 of 2 were not run" in said.err
    summary = json.loads(said.out)["summary"]
    assert (summary["run"], summary["not_run"]) == (1, 1)


def test_a_double_is_listed_and_explained(gatesim) -> None:
    listed = json.loads(gatesim("list", "doubles", "--format", "json").out)["doubles"]
    assert len(listed) > 50
    one = next(entry for entry in listed if entry["id"] == "controller-trusts-edges")
    assert one["differs"] == "Ignores the force sensing."
    said = gatesim("explain", "controller-trusts-edges")
    assert "return seen._replace(force=False)" in said.out
    assert "exposed by: scenarios/beyond-the-edge.scenario.yaml" in said.out
    assert "cannot be told" in gatesim("explain", "receiver-old-echo").out
    assert json.loads(gatesim("explain", "controller-trusts-edges", "--format", "json").out)["role"] == "controller"
