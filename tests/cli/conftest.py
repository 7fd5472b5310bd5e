"""A command line in one process, with what it said."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from gatesim.cli.main import serve

sys.path.insert(0, str(Path(__file__).parent))  # readers.py

ROOT = Path(__file__).parents[2]


class Said(NamedTuple):
    code: int
    out: str
    err: str


@pytest.fixture
def gatesim(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Callable[..., Said]:
    """Run `gatesim ARGS` and give exit code, stdout and stderr."""
    monkeypatch.setenv("NO_COLOR", "1")

    def run(*args: object) -> Said:
        code = serve([str(arg) for arg in args])
        return Said(int(code), *capsys.readouterr())

    return run


@pytest.fixture
def scenarios() -> Path:
    return ROOT / "scenarios"


@pytest.fixture
def scenario(scenarios: Path) -> Path:
    return scenarios / "first-look.scenario.yaml"


@pytest.fixture
def site(scenarios: Path) -> Path:
    return scenarios / "sites" / "mill-lane.site.yaml"
