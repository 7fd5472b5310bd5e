"""The shipped scenarios, run with some logic."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from gatesim.cli import known
from gatesim.plant.operator import controller_settings
from gatesim.run import RunResult, default_roles, run_scenario

ROOT = Path(__file__).parents[2]


@pytest.fixture
def run() -> Callable[..., RunResult]:
    """Run a shipped scenario by its name, with roles of one's own."""

    def run(name: str, *, keep: bool = False, **roles: Any) -> RunResult:
        scenario = known.scenario(ROOT / "scenarios" / f"{name}.scenario.yaml")
        return run_scenario(scenario, default_roles()._replace(**roles), keep=keep)

    return run



@pytest.fixture
def mill_lane_settings() -> Any:
    """What a controller is told of the Mill Lane yard."""
    return controller_settings(known.site(ROOT / "scenarios" / "sites" / "mill-lane.site.yaml"))
