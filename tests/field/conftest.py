"""The invented site of `field_site.py`, as fixtures."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from gatesim.plant.site import Site

sys.path.insert(0, str(Path(__file__).parent))

from field_site import a_site, a_wired_site


@pytest.fixture
def site() -> Site:
    return a_site()


@pytest.fixture
def wired_site() -> Site:
    return a_wired_site()
