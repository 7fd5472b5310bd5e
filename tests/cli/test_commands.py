"""Every command once as a user gives it, and every exit code."""

from __future__ import annotations

import hashlib
import io
import json
import sys
from pathlib import Path

import jsonschema
import pytest


def test_check_judges_and_its_object_obeys_its_schema(gatesim, scenario, scenarios) -> None:
    said = gatesim("check", scenario, "--format", "json")
    schema = json.loads(gatesim("schema", "check").out)
    jsonschema.Draft202012Validator.check_schema(schema)
    answer = json.loads(said.out)
    jsonschema.validate(answer, schema)
    assert said.code == 0
    assert answer["scenarios"][0]["file"] == str(scenario)
    timed = [v for v in answer["scenarios"][0]["verdicts"] if v["quantity"]["measured"] is not None]
    assert timed
    for verdict in timed:
        figure = verdict["quantity"]["measured"] if verdict["quantity"]["unit"] == "us" else None
        assert verdict["measured_us"] == figure


def test_the_schema_refuses_what_is_not_so(gatesim, scenario) -> None:
    answer = json.loads(gatesim("check", scenario, "--format", "json").out)
    schema = json.loads(gatesim("schema", "check").out)
    answer["scenarios"][0]["outcome"] = "fine"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(answer, schema)


def test_the_hash_is_that_of_the_trace_file_and_judging_it_again_gives_the_same(
    gatesim, scenario, site, tmp_path
) -> None:
    trace = tmp_path / "a.trace"
    assert gatesim("run", scenario, "--trace", trace).code == 0
    first = json.loads(gatesim("check", scenario, "--format", "json").out)["scenarios"][0]
    assert first["trace_sha256"] == hashlib.sha256(trace.read_bytes()).hexdigest()
    again = json.loads(gatesim("judge", trace, "--site", site, "--format", "json").out)["scenarios"][0]
    assert again["trace_sha256"] == first["trace_sha256"]
    outcome = {v["requirement"]: (v["outcome"], v["measured_us"]) for v in first["verdicts"]}
    assert {v["requirement"]: (v["outcome"], v["measured_us"]) for v in again["verdicts"]} == outcome


def test_evidence_lines_stand_in_the_trace(gatesim, scenario, tmp_path) -> None:
    trace = tmp_path / "a.trace"
    gatesim("run", scenario, "--trace", trace)
    lines = set(trace.read_text().splitlines())
    verdicts = json.loads(gatesim("check", scenario, "--format", "json").out)["scenarios"][0]["verdicts"]
    proofs = [line for verdict in verdicts for line in verdict["evidence"]]
    assert proofs
    assert set(proofs) <= lines


def test_what_is_not_listed_and_fails_differs(gatesim, scenario, tmp_path) -> None:
    shorter = _with(scenario, tmp_path, "expect:\n", "expect:\n  - requirement: alarm-lasts\n")
    said = gatesim("check", shorter)
    assert said.code == 1
    assert "DIFFERS" in said.out
    assert "expected pass, got not exercised" in said.out
    assert "0 as expected, 1 differ, 0 errors; seed 11" in said.out


def test_a_broken_file_is_bad_input_beside_good_ones(gatesim, scenario, tmp_path) -> None:
    broken = tmp_path / "b.scenario.yaml"
    broken.write_text("format: gatesim-scenario/1\ntitel: x\n")
    said = gatesim("check", scenario, broken, "--format", "json")
    answer = json.loads(said.out)
    assert said.code == 2
    assert answer["summary"] == {"as_expected": 1, "differs": 0, "error": 1}
    wrong = next(one for one in answer["scenarios"] if one["outcome"] == "error")
    assert any(error["line"] == 2 and "titel" in error["message"] for error in wrong["errors"])
    jsonschema.validate(answer, json.loads(gatesim("schema", "check").out))


def test_a_broken_site_that_nobody_uses_is_bad_input(gatesim, scenario, tmp_path) -> None:
    (tmp_path / "x.site.yaml").write_text("format: gatesim-site/1\nname: x\n")
    said = gatesim("check", scenario, tmp_path / "x.site.yaml")
    assert said.code == 2
    assert "x.site.yaml:" in said.out


def test_a_dying_controller_is_code_3_and_comes_before_2(gatesim, scenario, tmp_path) -> None:
    logic = tmp_path / "mine.py"
    logic.write_text(
        "class Dies:\n    def start(self, settings, kept):\n        raise RuntimeError('no')\n"
        "    def step(self, state, seen, now):\n        raise RuntimeError('no')\n"
    )
    broken = tmp_path / "b.scenario.yaml"
    broken.write_text("nonsense")
    said = gatesim("check", scenario, broken, "--controller", f"{logic}:Dies")
    assert said.code == 3
    assert "LogicError: controller" in said.out
    assert "died in start: RuntimeError: no" in said.out


def test_logic_that_answers_outside_its_contract_is_told_so(gatesim, scenario, tmp_path) -> None:
    logic = tmp_path / "odd.py"
    logic.write_text(
        "def start(settings, kept):\n    return 1, 2\n\ndef step(state, seen, now):\n    return 1, 2\n"
        "class Odd:\n    start = staticmethod(start)\n    step = staticmethod(step)\n"
    )
    said = gatesim("check", scenario, "--classifier", f"{logic}:Odd")
    assert said.code == 3
    assert "must answer start with (state, ClassifierDo); it gave (int, int)" in said.out


@pytest.mark.parametrize("spec", ["nowhere:Name", "absent.py:Name", "json:Nmae", "json", "json:dumps_", "math:pi"])
def test_logic_that_is_not_there_is_bad_usage(gatesim, scenario, spec) -> None:
    said = gatesim("check", scenario, "--receiver", spec)
    assert said.code == 2
    assert f"--receiver {spec}" in said.err
    assert "Traceback" not in said.err


def test_nothing_found_is_code_5(gatesim, tmp_path) -> None:
    assert gatesim("check", tmp_path).code == 5


@pytest.mark.parametrize(
    "args",
    [
        ("check",),
        ("chek", "x"),
        ("check", "--sed", "1"),
        ("check", "absent"),
        ("explain", "absent"),
        ("list", "gates"),
        ("run", "absent.scenario.yaml"),
        ("judge", "absent", "--site", "x"),
        ("plan", "absent.site.yaml"),
    ],
)
def test_bad_usage_is_code_2_said_on_stderr(gatesim, args) -> None:
    said = gatesim(*args)
    assert said.code == 2
    assert said.err
    assert not said.out
    assert "Traceback" not in said.err


def test_our_own_fault_is_told_as_such(gatesim, scenario, monkeypatch) -> None:
    def breaks(*args: object, **more: object) -> None:
        raise ZeroDivisionError("planted")

    monkeypatch.setattr("gatesim.cli.judge_file.run_scenario", breaks)
    said = gatesim("check", scenario)
    assert said.code == 3
    assert "gatesim's own fault" in said.err
    assert "Traceback" not in said.err
    assert "Traceback" in gatesim("check", scenario, "-v").err


def test_an_interruption_is_code_130(gatesim, scenario, monkeypatch) -> None:
    def stops(*args: object, **more: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("gatesim.cli.judge_file.run_scenario", stops)
    assert gatesim("check", scenario).code == 130


def test_the_seed_given_is_the_seed_used(gatesim, scenario) -> None:
    said = gatesim("check", scenario, "--seed", 7)
    assert "seed 7 for all" in said.out
    a, b = (json.loads(gatesim("check", scenario, "--seed", n, "--format", "json").out)["scenarios"][0] for n in (7, 8))
    assert (a["seed"], b["seed"]) == (7, 8)
    assert a["trace_sha256"] != b["trace_sha256"]


def test_output_is_written_whole_or_not_at_all(gatesim, scenario, tmp_path) -> None:
    target = tmp_path / "out.json"
    said = gatesim("check", scenario, "--format", "json", "--output", target)
    assert (said.code, said.out) == (0, "")
    assert json.loads(target.read_text())["format"] == "gatesim-check/1"
    assert gatesim("check", scenario, "-o", tmp_path / "no" / "out").code == 2
    assert [path.name for path in tmp_path.iterdir()] == ["out.json"]


def test_quiet_says_nothing_beside_the_result(gatesim, scenario, tmp_path) -> None:
    assert gatesim("run", scenario, "-q", "-o", tmp_path / "a").err == ""


def test_run_tells_the_story_and_more_with_v(gatesim, scenario) -> None:
    brief, full = gatesim("run", scenario), gatesim("run", scenario, "-v")
    assert "touches test block while closing, with front edge" in brief.out
    assert "Not exercised by this run, and so not shown to hold" in brief.out
    assert "sends frame" not in brief.out
    assert "sends frame" in full.out
    assert "force alone: the other means is held silent" in full.out


def test_run_as_an_object(gatesim, scenario) -> None:
    answer = json.loads(gatesim("run", scenario, "--format", "json").out)
    assert answer["format"] == "gatesim-run/1"
    assert answer["trace"][0]["run"] == "whole run"


def test_replay_hides_until_asked(gatesim, scenario, monkeypatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO("n\nv\nr\nv\nq\n"))
    said = gatesim("replay", scenario, "--hide")
    first, rest = said.out.split("the verdict is hidden")
    assert "controller" not in first
    assert "reversal-begun" not in first
    assert "controller" in rest
    assert "reversal-begun" in rest


def test_replay_goes_back(gatesim, scenario, monkeypatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO("n\nn\nb\nb\n"))
    lines = gatesim("replay", scenario).out.splitlines()
    assert lines[2] == lines[4]
    assert lines[5] == "at the beginning (n: next)"


def test_lists_and_explanations_agree(gatesim) -> None:
    for what in ("requirements", "faults"):
        for entry in json.loads(gatesim("list", what, "--format", "json").out)[what]:
            said = gatesim("explain", entry["id"])
            assert said.code == 0
            assert said.out.startswith(entry["id"])
    assert "ReferenceController" in gatesim("list", "controllers").out


def test_a_listed_controller_can_be_given(gatesim, scenario) -> None:
    spec = json.loads(gatesim("list", "controllers", "--format", "json").out)["controllers"][0]["id"]
    own, given = (
        json.loads(gatesim("check", scenario, "--format", "json", *more).out)["scenarios"][0]["trace_sha256"]
        for more in ((), ("--controller", spec))
    )
    assert own == given


def test_matrix_has_sixty_cells(gatesim, scenario) -> None:
    out = gatesim("check", scenario, "--matrix").out
    assert "of 60 cells covered" in out
    assert "Requirement x scenario" in out


def test_band_in_both_forms(gatesim, site) -> None:
    shown = gatesim("band", site)
    assert (shown.code, shown.err) == (0, "")
    assert "Loop of front edge; front transmitter" in shown.out
    said = json.loads(gatesim("band", site, "--format", "json").out)
    assert (said["format"], said["site"]) == ("gatesim-band/1", "Mill Lane yard")


def test_band_that_reaches_over_a_threshold(gatesim, site, tmp_path) -> None:
    bad = tmp_path / "bad.site.yaml"
    bad.write_text(site.read_text().replace('band_low: "6.9 kohm"', 'band_low: "8 kohm"', 1))
    shown = gatesim("band", bad, "--output", tmp_path / "band.txt")
    assert shown.code == 1
    text = " ".join((tmp_path / "band.txt").read_text().split())
    assert "OVERLAP, loop of front edge: at rest" in text
    assert "can read below the band" in text


def test_plan_in_both_forms(gatesim, site) -> None:
    assert "front edge" in gatesim("plan", site).out
    assert json.loads(gatesim("plan", site, "--format", "json").out)["site"] == "Mill Lane yard"


@pytest.mark.parametrize("kind", ["site", "scenario"])
def test_the_schemas_of_the_files_are_schemas(gatesim, kind) -> None:
    jsonschema.Draft202012Validator.check_schema(json.loads(gatesim("schema", kind).out))


def _with(scenario: Path, folder: Path, old: str, new: str) -> Path:
    """A changed copy of a scenario, beside a copy of its sites."""
    (folder / "sites").mkdir()
    for site in (scenario.parent / "sites").iterdir():
        (folder / "sites" / site.name).write_text(site.read_text())
    text = scenario.read_text()
    assert old in text
    changed = folder / scenario.name
    changed.write_text(text.replace(old, new))
    return changed


def _without_warning(scenarios, place):
    """The site that closes by itself, without its warning, and its scenario."""
    site = (scenarios / "sites" / "orchard-row.site.yaml").read_text()
    kept = "".join(line for line in site.splitlines(keepends=True) if "closing_warning" not in line)
    (place / "sites").mkdir()
    made = place / "sites" / "orchard-row.site.yaml"
    made.write_text(kept.replace("\ncontroller:\n", '\ncontroller:\n  closing_warning: "0 s"\n'))
    story = place / "story.scenario.yaml"
    story.write_text((scenarios / "automatic-closing.scenario.yaml").read_text())
    return made, story


def test_warnings_about_a_site_are_said_beside_the_result(gatesim, scenarios, tmp_path) -> None:
    site, story = _without_warning(scenarios, tmp_path)
    plan, run = gatesim("plan", site), gatesim("run", story)
    assert plan.err == f"{site}: warning: an automatic closing comes without warning; " + plan.err.partition("; ")[2]
    assert "warning: an automatic closing" in run.err
    assert "warning: an automatic closing" not in plan.out + run.out
    both = gatesim("check", tmp_path)
    # Once, though the site is read for itself and with its scenario.
    assert both.err.count("warning: an automatic closing") == 1
    assert gatesim("check", "-q", tmp_path).err == gatesim("plan", "-q", site).err == ""


def test_a_file_is_named_as_it_was_given(gatesim, scenarios, monkeypatch) -> None:
    monkeypatch.chdir(scenarios)
    for given in ("./first-look.scenario.yaml", "../scenarios/first-look.scenario.yaml"):
        (told,) = json.loads(gatesim("check", given, "--format", "json").out)["scenarios"]
        assert told["file"] == given
    absent = gatesim("run", "./absent.scenario.yaml")
    assert absent.err.startswith("./absent.scenario.yaml:1:1: ")


def test_a_trace_of_another_site_is_told_even_when_quiet(gatesim, scenario, scenarios, site, tmp_path) -> None:
    trace = tmp_path / "run.jsonl"
    gatesim("run", scenario, "--trace", trace)
    other = scenarios / "sites" / "pump-house.site.yaml"
    said = gatesim("judge", "-q", trace, "--site", other)
    assert "'Mill Lane yard'; it is judged as from 'Pump House farm'" in said.err
    assert gatesim("judge", trace, "--site", site).err == ""
