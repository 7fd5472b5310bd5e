"""A check in the formats of a CI, each read by a reader that is not ours."""

from __future__ import annotations

import hashlib
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
import yaml
from readers import DATA, READERS, Read, read_tap
from test_hostile_text import STYLES

from gatesim.report.cases import Place, command_line
from gatesim.report.cases_as import names

ROOT = Path(__file__).parents[2]
DEAF = f"{ROOT / 'docs' / 'examples' / 'deaf_controller.py'}:Deaf"
FIRST = "first-look.scenario.yaml"
FAILING = {"edge-alone-reversal-begun", "edge-alone-travel-after-actuation", "travel-after-actuation"}
"""What a controller that is deaf to presses breaks in the first scenario."""


@pytest.fixture
def checked(gatesim, tmp_path) -> Callable[..., tuple[int, Read, bytes]]:
    """Exit code, what the reader of the format says, and the bytes."""

    def show(style: str, *args: object) -> tuple[int, Read, bytes]:
        out = tmp_path / "out"
        said = gatesim("check", *args, "--format", style, "--output", out, "-q")
        return said.code, READERS[style](out.read_bytes()), out.read_bytes()

    return show


def _line(path: Path, text: str) -> int:
    return next(number for number, line in enumerate(path.read_text().splitlines(), 1) if line.strip() == text)


def _changed(path: Path, to: Path, **keys: object) -> Path:
    """A shipped scenario with other keys, beside a copy of its site."""
    data = yaml.safe_load(path.read_text()) | keys
    (to / "sites").mkdir(parents=True)
    shutil.copy(path.parent / data["site"], to / "sites")
    made = to / path.name
    made.write_text(yaml.safe_dump(data, sort_keys=False))
    return made


def test_junit_says_what_differs(checked, scenario) -> None:
    code, read, _ = checked("junit", scenario, "--controller", DEAF)
    assert code == 1
    (suite,) = read.whole
    states = {case.name: [type(one).__name__ for one in case.result] for case in suite}
    assert {name for name, state in states.items() if state == ["Failure"]} == FAILING
    assert set(states) == {line.split()[-1] for line in scenario.read_text().splitlines() if "requirement" in line} | {
        "others"}
    failure = next(case for case in suite if case.name == "travel-after-actuation").result[0]
    assert failure.message == "travel-after-actuation: expected pass, got fail: too far (seed 11)"
    assert "measured 57.1 mm, limit 52.0 mm, margin -5.1 mm" in failure.text
    facts = {one.name: one.value for one in suite.properties()}
    assert facts["seed"] == "11"
    assert "lost-link-found" in facts["not exercised"]
    assert len(facts["trace_sha256"]) == 64


def test_tap_says_what_differs(checked, scenario) -> None:
    tests, below = checked("tap", scenario, "--controller", DEAF)[1].whole
    assert [test["number"] for test in tests] == list(range(1, len(tests) + 1))
    bad = {test["description"].rpartition(" ")[2] for test in tests if not test["ok"]}
    assert bad == FAILING
    found = [one for block in below for one in block.get("findings", ())]
    assert {one["rule"] for one in found} == FAILING
    assert all(one["at"].startswith(f"{scenario}:") for one in found)
    assert all("Seed 11." in one["text"] for one in found)


def test_prove_fails_with_the_check(gatesim, scenario, tmp_path) -> None:
    read_tap(b"TAP version 14\n1..1\nok 1 - a\n  ---\n  facts: {}\n  ...\n")  # perl is here
    for options, code in (((), 0), (("--controller", DEAF), 1)):
        out = tmp_path / "check.tap"
        gatesim("check", scenario, "--format", "tap", "--output", out, "-q", *options)
        out.write_text(out.read_text().replace("TAP version 14", "TAP version 13"))  # for the prove of an older perl
        done = subprocess.run(["prove", "-e", "cat", str(out)], capture_output=True, text=True, timeout=60, check=False)
        assert done.returncode == code, done.stdout
        assert "skipped" not in done.stdout


def test_sarif_points_at_the_expectations(checked, scenario) -> None:
    run = checked("sarif", scenario, "--controller", DEAF)[1].whole["runs"][0]
    spots = {one["ruleId"]: one["locations"][0]["physicalLocation"] for one in run["results"]}
    assert {name: (spot["region"]["startLine"], spot["region"]["startColumn"]) for name, spot in spots.items()} == {
        name: (_line(scenario, f"- requirement: {name}"), 5) for name in FAILING}
    assert {spot["artifactLocation"]["uri"] for spot in spots.values()} == {scenario.as_uri()}
    rules = run["tool"]["driver"]["rules"]
    assert all(rules[one["ruleIndex"]]["id"] == one["ruleId"] for one in run["results"])
    sources = {rule["id"]: rule["help"]["text"] for rule in rules}
    assert "16 CFR part 1211" in sources["edge-alone-reversal-begun"]
    assert run["invocations"] == [{"executionSuccessful": True}]


def test_a_relative_path_is_a_relative_reference(checked, scenarios, monkeypatch) -> None:
    monkeypatch.chdir(scenarios.parent)
    run = checked("sarif", f"scenarios/{FIRST}", "--controller", DEAF)[1].whole["runs"][0]
    spot = run["results"][0]["locations"][0]["physicalLocation"]
    assert spot["artifactLocation"]["uri"] == f"scenarios/{FIRST}"


def test_annotations_say_all_that_is_needed(checked, scenario) -> None:
    annotations = checked("github", scenario, "--controller", DEAF)[1].whole
    assert {one.properties["title"].partition(":")[0] for one in annotations} == FAILING
    for one in annotations:
        name = one.properties["title"].partition(":")[0]
        assert one.kind == "error"
        assert one.properties["file"] == str(scenario)
        assert int(one.properties["line"]) == _line(scenario, f"- requirement: {name}")
        assert "Scenario: A block in the closing gap" in one.message
        assert "measured" in one.message
        assert "limit" in one.message
        assert one.message.endswith(f"Run it again: gatesim run {scenario} --seed 11 --controller {DEAF}")


@pytest.mark.parametrize("style", names())
def test_all_well(checked, scenario, style) -> None:
    code, read, _ = checked(style, scenario)
    assert (code, read.bad) == (0, 0)


@pytest.mark.parametrize("style", names())
def test_an_expected_failure_is_good_and_its_absence_is_not(checked, scenarios, tmp_path, style) -> None:
    """`bad-watchdog-too-long` expects two failures."""
    path = scenarios / "bad-watchdog-too-long.scenario.yaml"
    assert checked(style, path)[1].bad == 0
    cured = _changed(path, tmp_path / "x", overrides=[{"setting": "receiver.watchdog_in_motion", "value": "900 ms"}])
    code, read, _ = checked(style, cured)
    assert (code, read.bad) == (1, 2)


@pytest.mark.parametrize("style", names())
@pytest.mark.parametrize(("keys", "name"), [
    ({"ends": "28 s", "steps": [{"at": "1 s", "do": "command", "command": "open"}]}, "not exercised"),
    ({"ends": "38.4 s"}, "undetermined"),
], ids=["not exercised", "undetermined"])
def test_what_was_to_be_judged_and_was_not_is_never_good(checked, scenario, tmp_path, style, keys, name) -> None:
    steps = yaml.safe_load(scenario.read_text())["steps"]
    path = _changed(scenario, tmp_path / "x", expect=[{"requirement": "reversal-begun"}], **({"steps": steps} | keys))
    code, read, raw = checked(style, path)
    assert (code, read.bad) == (1, 1)
    assert any(f"expected pass, got {name}" in text for text in read.texts)
    assert b"skip" not in raw.lower().replace(b'skipped="0"', b"")


@pytest.mark.parametrize("style", names())
def test_a_failure_that_is_not_listed_stands_at_the_list(checked, scenario, tmp_path, style) -> None:
    path = _changed(scenario, tmp_path / "x", expect=[{"requirement": "never-both-directions"}])
    code, read, _ = checked(style, path, "--controller", DEAF)
    assert code == 1
    # One case of a suite, but a finding each.
    assert read.bad == (1 if style in ("junit", "tap") else 3)
    place = Place(str(path), _line(path, "expect:"), 1)
    if style in ("junit", "tap"):
        assert any(text == "others" or text.endswith(": others") for text in read.texts)
        assert any(str(place) in text for text in read.texts)
    elif style == "github":
        assert {(one.properties["line"], one.properties["col"]) for one in read.whole} == {(str(place.line), "1")}


@pytest.mark.parametrize("style", names())
def test_a_file_that_does_not_load_is_an_error_at_its_line(checked, scenario, tmp_path, style) -> None:
    path = _changed(scenario, tmp_path / "x", seed="many", titel="x")
    code, read, _ = checked(style, path, scenario)
    assert code == 2
    assert read.bad == (1 if style in ("junit", "tap") else 2)
    assert any("unknown key 'titel'" in text for text in read.texts)
    line = next(number for number, text in enumerate(path.read_text().splitlines(), 1) if text.startswith("titel"))
    if style == "sarif":
        run = read.whole["runs"][0]
        lines = [one["locations"][0]["physicalLocation"]["region"]["startLine"] for one in run["results"]]
        assert line in lines
        assert run["invocations"] == [{"executionSuccessful": False}]
    if style == "github":
        assert str(line) in [one.properties["line"] for one in read.whole]


@pytest.mark.parametrize("style", names())
def test_a_sound_site_is_a_case_of_its_own(checked, scenarios, tmp_path, style) -> None:
    site = scenarios / "sites" / "orchard-row.site.yaml"
    broken = tmp_path / "x.site.yaml"
    broken.write_text(site.read_text().replace("travel:", "travle:"))
    code, read, _ = checked(style, site, broken)
    assert code == 2
    assert read.good in (1, None)
    assert read.bad


@pytest.mark.parametrize("style", names())
def test_a_residual_risk_is_said(checked, scenarios, style) -> None:
    code, read, _ = checked(style, scenarios / "edge-torn-loose.scenario.yaml")
    assert (code, read.bad) == (0, 0)
    assert any("residual risk: edge-torn-loose" in text for text in read.texts) or style == "tap"


@pytest.mark.parametrize("style", STYLES["check"])
def test_the_same_input_gives_the_same_bytes(checked, scenario, style) -> None:
    first, second = (hashlib.sha256(checked(style, scenario, "--controller", DEAF)[2]).hexdigest() for _ in range(2))
    assert first == second


def test_a_seed_from_the_command_line_is_in_the_command(checked, scenario) -> None:
    annotations = checked("github", scenario, "--seed", "5", "--controller", DEAF, "--scan", "10 ms")[1].whole
    assert annotations
    assert all(f"--seed 5 --controller {DEAF} --scan '10 ms'" in one.message for one in annotations)


def test_a_command_is_quoted_for_a_shell() -> None:
    words = ["a b", "$(id)", "it's", "\x1b[1m\n'\\", "\udcff"]
    done = subprocess.run(["bash", "-c", f"printf '%s\\0' {command_line(*words)}"], capture_output=True, check=True)
    assert done.stdout == b"\0".join(word.encode("utf-8", "surrogateescape") for word in words) + b"\0"
    assert command_line(*words).isprintable()


def test_the_schemas_say_whose_they_are() -> None:
    assert {path.name for path in DATA.iterdir()} == {"LICENCES.md", "junit-10.xsd", "sarif-2.1.0-rtm.5.json"}
    assert "MIT License" in (DATA / "junit-10.xsd").read_text()[:200]
