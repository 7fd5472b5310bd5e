"""Logic of one's own, from the command line: fixed scan, forks, what is refused."""

from __future__ import annotations

import sys

import pytest


def test_the_scan_shows_in_the_figures(gatesim, scenario) -> None:
    plain = gatesim("run", scenario)
    slow = gatesim("run", scenario, "--scan", "50 ms", "--input-filter", "20 ms", "--output-delay", "10 ms")
    assert plain.code == slow.code == 0
    assert plain.out != slow.out


def test_a_receiver_can_be_on_the_scan(gatesim, scenario) -> None:
    said = gatesim("run", scenario, "--scan", "50 ms", "--scan-role", "receiver")
    assert said.code == 0
    assert said.out != gatesim("run", scenario).out


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (("--scan", "10"), "--scan 10: '10' needs a unit"),
        (("--scan", "0 s"), "out of range; must be between 10 us and"),
        (("--scan", "10 ms", "--input-filter", "x"), "--input-filter x: 'x' does not start with a number"),
        (("--output-delay", "10 ms"), "--output-delay says more about --scan, which is not given"),
        (("--input-filter", "10 ms"), "--input-filter says more about --scan, which is not given"),
    ],
)
def test_a_bad_scan_is_refused(gatesim, scenario, options, message) -> None:
    said = gatesim("check", scenario, *options)
    assert said.code == 2
    assert message in said.err


LOGIC = """
from gatesim.plant.logic.controller_reference import ReferenceController

class Own:
    def __init__(self):
        self.inner = ReferenceController()
    def start(self, settings, kept):
        self.memory, do = self.inner.start(settings, kept)
        return None, do
    def step(self, state, seen, now):
        self.memory, do = self.inner.step(self.memory, seen, now)
        return None, do

ONE = Own()
"""


@pytest.mark.parametrize("name", ["Own", "ONE"])
def test_a_controller_without_copy_is_replayed_and_that_is_said(gatesim, scenario, tmp_path, name) -> None:
    (tmp_path / "own.py").write_text(LOGIC)
    plain = gatesim("check", scenario, "--format", "json")
    said = gatesim("check", scenario, "--format", "json", "--controller", f"{tmp_path / 'own.py'}:{name}")
    assert said.out == plain.out
    assert said.err.count("forks of it are made by playing all its calls again, which is slower") == 1


def test_a_sweep_forks_it_as_well(gatesim, site, tmp_path) -> None:
    (tmp_path / "own.py").write_text(LOGIC)
    spec = f"{tmp_path / 'own.py'}:Own"
    said = gatesim("sweep", site, "--fault", "loop-short", "--budget", 4, "--jobs", 2, "--controller", spec)
    assert said.code in (0, 1)
    assert "loop-short" in said.out
    assert said.err.count("playing all its calls again") == 1


DIES_AT_A_HOLD = """
import json, sys
for line in sys.stdin:
    (kind, given), = json.loads(line).items()
    if kind == "step" and any(one[0].startswith("hold") for one in given["seen"].get("controls", [])):
        sys.exit("somebody holds a button, and I do not know what to do")
    print(json.dumps({"hello": {"name": "x"}} if kind == "hello" else {"ok": True, "do": {}}), flush=True)
"""


@pytest.mark.slow
def test_a_program_that_dies_is_code_3_and_the_other_files_are_judged(gatesim, scenarios, tmp_path) -> None:
    (tmp_path / "dies.py").write_text(DIES_AT_A_HOLD)
    files = [scenarios / f"{name}.scenario.yaml" for name in ("first-look", "hold-to-run", "stop-and-turn-round")]
    said = gatesim("check", *files, "--controller", f"run:{sys.executable} {tmp_path / 'dies.py'}")
    assert said.code == 3
    assert "1 error" in said.out
    assert "2 differ" in said.out
    assert "somebody holds a button, and I do not know what to do" in said.out


@pytest.mark.slow
def test_a_program_that_wants_a_scan(gatesim, scenario, tmp_path) -> None:
    logic = tmp_path / "scans.py"
    logic.write_text(DIES_AT_A_HOLD.replace('"name": "x"', '"name": "x", "wants": "scan"'))
    spec = f"run:{sys.executable} {logic}"
    refused = gatesim("check", scenario, "--controller", spec)
    assert refused.code == 2
    assert 'it works on a fixed scan; say which, such as --scan "10 ms"' in refused.out
    assert gatesim("check", scenario, "--controller", spec, "--scan", "100 ms").code == 1


def test_no_such_program_is_bad_usage(gatesim, scenario) -> None:
    said = gatesim("check", scenario, "--controller", "run:no-such-program-here x")
    assert said.code == 2
    assert "there is no program 'no-such-program-here' that can be run" in said.err
    assert gatesim("check", scenario, "--controller", "run:").code == 2
    assert gatesim("check", scenario, "--controller", 'run:"x').code == 2
    assert "expected module:Name, file.py:Name or 'run:COMMAND ARGS'" in gatesim(
        "check", scenario, "--controller", "nothing").err


def test_a_silent_program_is_waited_for_as_long_as_said(gatesim, scenario) -> None:
    said = gatesim("check", scenario, "--controller", "run:sleep 100", "--answer-within", "50 ms")
    assert said.code == 3
    assert "it did not answer hello within 0.05 s" in said.out
    assert gatesim("check", scenario, "--controller", "run:sleep 100", "--answer-within", "soon").code == 2


@pytest.mark.parametrize("line", [
    "controller: run:touch marker", "receiver: own.py:Own", "classifier: own:Own", "logic: own.py:Own",
    "run: touch marker", "controller: !!python/object/apply:os.system [touch marker]",
])
@pytest.mark.parametrize("kind", ["scenario", "site"])
def test_no_file_can_name_code(gatesim, scenario, site, tmp_path, monkeypatch, line, kind) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "own.py").write_text("open('marker', 'w')\n")
    (tmp_path / "sites").mkdir()
    texts = {"scenario": scenario.read_text(), "site": site.read_text()}
    texts[kind] += f"{line}\n"
    (tmp_path / "sites" / "mill-lane.site.yaml").write_text(texts["site"])
    (tmp_path / "one.scenario.yaml").write_text(texts["scenario"])
    said = gatesim("check", "one.scenario.yaml")
    assert said.code == 2
    assert any(words in said.out for words in ("unknown key", "tags", "stands here again")), said.out
    assert not (tmp_path / "marker").exists()
