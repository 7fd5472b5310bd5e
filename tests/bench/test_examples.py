"""The example controllers of docs/examples/lockstep: one set of rules in three languages, the same verdicts."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from gatesim.bench import child as children
from gatesim.cli.main import serve

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "docs" / "examples" / "lockstep"
MET = ("first-look", "second-demand", "healthy-both-ways", "short-closing", "lost-link-closing", "open-opening",
       "reset-rules", "power-back-in-mid-travel", "alarm-and-power", "strip-stays-closed", "beam-dazzled-opening",
       "battery-low-closing")
"""Shipped scenarios that they meet as a controller should."""
NOT_MET = {
    "hold-to-run": "hold-stops-on-release", "automatic-closing": "warning-before-automatic-closing",
}
"""What they can't do, and the requirement that shows it."""


def _tool(name: str) -> str:
    found = shutil.which(name)
    if found is None:
        if os.environ.get("CI") == "true":
            pytest.fail(f"{name} is not here, and under CI=true this may not be skipped")
        pytest.skip(f"{name} is not here")
    return found


@pytest.fixture(scope="module")
def program(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, Any]]:
    """How each example is started; the one in C is compiled, with every warning an error."""
    made = {
        "python": lambda: f"run:{sys.executable} {EXAMPLES / 'gate.py'}",
        "node": lambda: f"run:{_tool('node')} {EXAMPLES / 'gate.js'}",
    }

    def c() -> str:
        place = tmp_path_factory.mktemp("c") / "gate"
        flags = ["-std=c11", "-O2", "-Wall", "-Wextra", "-Werror", "-fsanitize=undefined", "-fno-sanitize-recover"]
        subprocess.run([_tool("gcc"), *flags, "-o", str(place), str(EXAMPLES / "gate.c"), "-lm"], check=True)
        return f"run:{place}"

    yield {**made, "c": c}
    assert not children._living


def checked(spec: str, names: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> list[dict[str, Any]]:
    """The scenarios as `gatesim check --format json` gives them."""
    files = [str(ROOT / "scenarios" / f"{name}.scenario.yaml") for name in names]
    serve(["check", *files, "-q", "--format", "json", "--controller", spec])
    found: list[dict[str, Any]] = json.loads(capsys.readouterr().out)["scenarios"]
    return found


@pytest.mark.slow
@pytest.mark.parametrize("language", ["python", "node", "c"])
def test_an_example_meets_these_scenarios_as_a_controller_should(program, language, capsys) -> None:
    found = checked(program[language](), MET, capsys)
    assert {one["outcome"] for one in found} == {"as expected"}, [one["file"] for one in found]


@pytest.mark.slow
@pytest.mark.parametrize("language", ["python", "node", "c"])
def test_what_it_lacks_shows(program, language, capsys) -> None:
    for one, requirement in zip(checked(program[language](), tuple(NOT_MET), capsys),
                                [NOT_MET[name] for name in sorted(NOT_MET)], strict=True):
        assert one["outcome"] == "differs"
        (row,) = [row for row in one["verdicts"] if row["requirement"] == requirement]
        assert row["outcome"] == "not exercised"


@pytest.mark.slow
@pytest.mark.parametrize("language", ["node", "c"])
def test_all_languages_leave_the_same_bytes(program, language, capsys) -> None:
    """One has no snapshots and is played again where it is forked: that leaves no trace, either."""
    names = (*MET, *NOT_MET, "two-at-once", "beam-then-edge", "self-locking-relieved")
    assert checked(program[language](), names, capsys) == checked(program["python"](), names, capsys)


@pytest.mark.slow
def test_on_a_fixed_scan_it_still_reverses(program, capsys) -> None:
    file = str(ROOT / "scenarios" / "first-look.scenario.yaml")
    scan = ["--scan", "10 ms", "--input-filter", "5 ms"]
    code = serve(["check", file, "-q", *scan, "--controller", program["python"]()])
    assert code == 0, capsys.readouterr().out
