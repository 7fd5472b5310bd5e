"""The site of `yard_site.py`, as a fixture."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from gatesim.plant.site import Site

sys.path.insert(0, str(Path(__file__).parent))

from yard_site import made


@pytest.fixture
def site() -> Site:
    """The site."""
    return made()
