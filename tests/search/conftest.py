"""A shipped site, ready to be swept."""

from __future__ import annotations

from pathlib import Path

import pytest

from gatesim.run import default_roles
from gatesim.scenario.read import read_site
from gatesim.search.ground import Phase
from gatesim.search.sweep import Bench

SITES = Path(__file__).parents[2] / "scenarios" / "sites"


@pytest.fixture(scope="session")
def mill_lane() -> Bench:
    return Bench(read_site(SITES / "mill-lane.site.yaml"), default_roles(), 1, list(Phase))


@pytest.fixture(scope="session")
def orchard_row() -> Bench:
    return Bench(read_site(SITES / "orchard-row.site.yaml"), default_roles(), 1, [Phase.TRAVEL])
