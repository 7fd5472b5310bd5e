"""The program as a process: what it loads, what a closed pipe does, what `python -m` does."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]


def _python(*args: str, **more: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, *args], capture_output=True, text=True, cwd=ROOT, check=False, **more)  # type: ignore[call-overload,no-any-return]


def test_help_loads_nothing_heavy() -> None:
    look = (
        "import sys\nfrom gatesim.cli.main import serve\nserve(['--help'])\n"
        "heavy = ('simpy', 'transitions', 'pydantic', 'yaml', 'rich', 'gatesim.run')\n"
        "print([name for name in heavy if name in sys.modules])"
    )
    said = _python("-c", look)
    assert said.stdout.rstrip().endswith("[]"), said.stdout + said.stderr
    assert "check" in said.stdout


def test_the_package_names_are_loaded_when_asked_for() -> None:
    look = (
        "import sys, gatesim\nassert 'gatesim.run' not in sys.modules\ngatesim.run_scenario\n"
        "assert 'gatesim.run' in sys.modules\nprint('lazy')"
    )
    assert _python("-c", look).stdout == "lazy\n"


def test_python_m_is_the_same_program() -> None:
    said = _python("-m", "gatesim", "--version")
    assert (said.returncode, said.stdout) == (0, "gatesim 0.1.0\n")


def test_a_reader_that_goes_away_is_no_failure() -> None:
    script = f"'{sys.executable}' -m gatesim run scenarios/first-look.scenario.yaml --format json; echo $? >&2"
    said = subprocess.run(
        ["bash", "-c", f"({script}) | head -n 1"], capture_output=True, text=True, cwd=ROOT, check=False
    )
    assert said.stderr == "0\n"
