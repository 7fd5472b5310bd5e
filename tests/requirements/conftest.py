"""The site of `yard_site.py`, as a fixture."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import pytest

from gatesim.events import Direction, LeafName
from gatesim.plant import site as s

sys.path.insert(0, str(Path(__file__).parent))

from yard_site import made

PAIR = s.SecondLeaf(LeafName.FIRST, opening_delay=600_000, closing_delay=1_200_000, overlap=300_000.0)
"""The first leaf lies on top; both are alike."""


def paired() -> s.Site:
    """The same with a second leaf, its zones and its edges."""
    one = made()
    zones = (s.Zone("front 2", Direction.CLOSING, 0.0, 4_000_000.0, leaf=LeafName.SECOND),
             s.Zone("rear 2", Direction.OPENING, 0.0, 4_000_000.0, leaf=LeafName.SECOND))
    edges = tuple(replace(edge, name=f"{edge.name} 2", zone=f"{edge.zone} 2") for edge in one.edges)
    return replace(one, second_leaf=PAIR, zones=(*one.zones, *zones), edges=(*one.edges, *edges))


@pytest.fixture
def site() -> s.Site:
    """The site."""
    return made()


@pytest.fixture
def pair() -> s.Site:
    """The site of two leaves."""
    return paired()
