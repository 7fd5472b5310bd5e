"""`conform` and `compare` from the command line: what they say, write, and exit with."""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
FIRST = ROOT / "docs" / "examples" / "first_controller.py"
REFERENCE = "gatesim.plant.logic.controller_reference:ReferenceController"
QUICK = ("--no-sweep", "--stories", 0)


def test_the_reference_misses_nothing(gatesim, scenario) -> None:
    said = gatesim("conform", "--controller", REFERENCE, "--scenarios", scenario, *QUICK)
    assert said.code == 0, said.out
    assert "Requirements missed: 0 of" in said.out
    assert "Scenarios: 1 of 1 as expected" in said.out
    assert "transitions reached by the scenarios" in said.out
    assert "not exercised: not asked for" in said.out


def test_what_is_missed_and_where(gatesim, scenarios) -> None:
    files = [option for name in ("first-look", "lost-link-closing", "hold-to-run")
             for option in ("--scenarios", scenarios / f"{name}.scenario.yaml")]
    said = gatesim("conform", "--controller", f"{FIRST}:Second", *files, *QUICK)
    assert said.code == 1
    assert "fails in hold-to-run (device faulty), lost-link-closing (device faulty)" in said.out
    assert "hold-stops-on-release" in said.out
    assert "not shown in hold-to-run" in said.out
    assert "has no TABLE" in said.out
    made = json.loads(gatesim("conform", "--controller", f"{FIRST}:Second", *files, *QUICK, "--format", "json").out)
    assert made["format"] == "gatesim-conform/1"
    by_name = {one["requirement"]: one for one in made["requirements"]}
    assert by_name["hold-stops-on-release"]["standing"] == "never exercised"
    assert by_name["no-unsafe-start"]["standing"] == "missed"
    assert by_name["reversal-begun"]["standing"] == "met"
    assert made["summary"]["anything_missed"] is True
    assert made["table"]["absent"]


STILL = """
from gatesim.events import Brake, Lockout
from gatesim.plant.logic.contract import ControllerDo

class Still:
    def start(self, settings, kept):
        return 0, ControllerDo(order=None, slow=False, main=False, brake=Brake.HOLD, alarm=False,
                               lockout=Lockout.NONE, armed=False, mode="off", ask=0, watch=None, wake=None, keep=b"")

    def step(self, state, seen, now):
        return self.start(None, None)
"""


def test_one_that_never_moves(gatesim, scenarios, tmp_path) -> None:
    (tmp_path / "still.py").write_text(STILL)
    said = gatesim("conform", "--controller", f"{tmp_path / 'still.py'}:Still", "--stories", 0, "--jobs", 1,
                   "--scenarios", scenarios / "beam-dazzled-opening.scenario.yaml")
    assert said.code == 1
    assert "the gate was never moved by an order" in said.out
    assert "Sweep of Mill Lane yard: not exercised" in said.out


@pytest.mark.slow
def test_a_sweep_that_is_out_of_time_says_what_it_did_not_reach(gatesim, scenarios, scenario) -> None:
    said = gatesim("conform", scenarios / "sites" / "orchard-row.site.yaml", "--controller", f"{FIRST}:Second",
                   "--scenarios", scenario, "--stories", 0, "--budget", 0.2, "--jobs", 1)
    assert "Sweep of Orchard Row car park: 1 row, " in said.out
    assert re.search(r"Not reached in time: 17\d rows; that is no pass\.", said.out)
    assert "of the sweep not reached." in said.out or said.code == 1


@pytest.mark.slow
def test_a_story_that_breaks_a_requirement_is_written_and_replayed(gatesim, scenarios, scenario, tmp_path,
                                                                   monkeypatch) -> None:
    monkeypatch.setattr("gatesim.search.laws.MOST", 1)
    said = gatesim("conform", scenarios / "sites" / "orchard-row.site.yaml", "--controller", f"{FIRST}:Second",
                   "--scenarios", scenario, "--stories", 25, "--budget", 1000, "--no-sweep", "--write", tmp_path)
    assert said.code == 1
    (written,) = tmp_path.glob("*.scenario.yaml")
    again = gatesim("check", written, "--controller", f"{FIRST}:Second")
    assert again.code == 0, again.out  # as expected: it fails what it is kept for
    assert gatesim("check", written).code == 1  # the reference does not


def test_a_program_that_dies_is_code_3(gatesim, scenario) -> None:
    said = gatesim("conform", "--controller", f"run:{sys.executable} -c 'raise SystemExit(9)'", "--scenarios", scenario,
                   "--stories", 2, "--jobs", 1)
    assert said.code == 3
    assert "It died: " in said.out
    assert "ended with exit code 9 instead of answering" in said.out


def test_bad_usage_of_conform(gatesim, scenario, tmp_path) -> None:
    said = gatesim("conform")
    assert said.code == 2
    assert "name the logic under test: --controller SPEC" in said.err
    assert gatesim("conform", "--controller", REFERENCE, "--write", tmp_path / "none").code == 2
    assert gatesim("conform", "--controller", REFERENCE, "--scenarios", "nowhere").code == 2
    assert gatesim("conform", "no.site.yaml", "--controller", REFERENCE).code == 2
    assert gatesim("conform", "--controller", REFERENCE, "--scenarios", tmp_path).code == 5


def test_a_difference_is_told_as_a_story_and_written(gatesim, site, tmp_path) -> None:
    place = tmp_path / "found.scenario.yaml"
    said = gatesim("compare", site, "--controller", f"{FIRST}:First", "--controller", f"{FIRST}:Second", "--stories", 5,
                   "--write", place)
    assert said.code == 1
    assert "They differ." in said.out
    assert "The story, as the first lives it" in said.out
    assert "(neither controller shows its table)" not in said.out  # it never came to that
    checked = gatesim("check", place, "--controller", f"{FIRST}:Second")
    assert checked.code in (0, 1)
    assert "error" not in checked.out.replace("0 errors", "")


def test_compare_as_json_and_against_the_reference(gatesim, site) -> None:
    asked = ("compare", site, "--controller", f"{FIRST}:Second", "--stories", 3, "--format", "json")
    said = gatesim(*asked)
    assert said.code == 1
    assert gatesim(*asked) == said  # the same seed finds the same
    made = json.loads(said.out)
    assert made["format"] == "gatesim-compare/1"
    assert made["first"] == REFERENCE
    assert made["difference"]["outputs"]
    assert made["story"]["tree"]["steps"] is not None


def test_no_difference_is_no_proof(gatesim, site) -> None:
    said = gatesim("compare", site, "--controller", f"{FIRST}:First", "--controller", f"{FIRST}:First", "--stories", 4)
    assert said.code == 0
    assert "No difference found." in said.out
    assert "Tried: 4 random stories, 0 driven stories (neither controller shows its table)." in said.out
    assert "no proof that they are the same" in said.out
    assert "equal" not in said.out


@pytest.mark.slow
def test_compare_with_a_program(gatesim, site) -> None:
    spec = f"run:{sys.executable} {ROOT / 'docs' / 'examples' / 'lockstep' / 'gate.py'}"
    said = gatesim("compare", site, "--controller", spec, "--controller", spec, "--stories", 4, "--moves", 0)
    assert said.code == 0, said.out


def test_one_that_dies_in_compare_is_code_3(gatesim, site, tmp_path) -> None:
    (tmp_path / "dies.py").write_text(STILL + "\nclass Dies(Still):\n    def step(self, state, seen, now):\n"
                                      "        raise ZeroDivisionError('the fuse')\n")
    said = gatesim("compare", site, "--controller", f"{tmp_path / 'dies.py'}:Dies", "--stories", 2)
    assert said.code == 3
    assert "One of them died." in said.out


def test_bad_usage_of_compare(gatesim, site) -> None:
    said = gatesim("compare", site, *["--controller", REFERENCE] * 3)
    assert said.code == 2
    assert "--controller is given 3 times" in said.err
    assert gatesim("compare", site).code == 2
    assert gatesim("compare", site, "--controller", REFERENCE, "--slack", "soon").code == 2
    assert gatesim("compare", site, "--controller", f"{FIRST}:Frist").code == 2
