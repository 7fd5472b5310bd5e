"""Discovery of fault kinds, and where they can sit."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from gatesim.errors import BadUsage, ModelError
from gatesim.events import Guard
from gatesim.plant import faults as package
from gatesim.plant.faults import catalogue, places
from gatesim.plant.site import Edge, Site

SOURCE = '''
from gatesim.events import FoundBy
from gatesim.plant.fault import Steady


class Kind(Steady):
    id = "{id}"
    title = "A kind from elsewhere"
    found = FoundBy.NEVER

    def places(self, site):
        return ()


FAULT = Kind()
'''


@pytest.fixture
def more(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    """Adds files beside those that ship, for one test."""
    import sys

    monkeypatch.setattr(package, "__path__", [*package.__path__, str(tmp_path)])
    catalogue.faults.cache_clear()

    def add(file: str, source: str) -> None:
        (tmp_path / f"{file}.py").write_text(source)

    yield add
    catalogue.faults.cache_clear()
    for file in tmp_path.glob("*.py"):
        sys.modules.pop(f"{package.__name__}.{file.stem}", None)
        if hasattr(package, file.stem):
            delattr(package, file.stem)


def test_a_kind_is_one_file(more: Any) -> None:
    shipped = set(catalogue.faults())
    more("from_elsewhere", SOURCE.format(id="from-elsewhere"))
    catalogue.faults.cache_clear()
    assert set(catalogue.faults()) == {*shipped, "from-elsewhere"}


def test_a_kind_that_is_not_named_as_its_file_is_refused(more: Any) -> None:
    more("another_open", SOURCE.format(id="loop-open"))
    with pytest.raises(ModelError, match=r"another_open\.py: its kind is named 'loop-open'"):
        catalogue.faults()["another-open"]


def test_every_kind_is_named_as_its_file() -> None:
    assert [catalogue.faults()[name].id for name in catalogue.faults()] == list(catalogue.faults())


def test_at_least_forty_kinds_sorted() -> None:
    ids = list(catalogue.faults())
    assert len(ids) >= 40
    assert ids == sorted(ids)


def test_a_kind_that_can_sit_nowhere_says_so(site: Site) -> None:
    with pytest.raises(BadUsage, match="can't sit anywhere on site 'yard'"):
        catalogue.place(catalogue.faults()["lost-link"], site, "nose")


def test_a_near_miss_is_offered(site: Site) -> None:
    with pytest.raises(BadUsage, match=r"legal here: nose, tail; did you mean 'nose'\?"):
        catalogue.place(catalogue.faults()["loop-open"], site, "nsoe")


def test_guard_of_edges(site: Site) -> None:
    nose, tail = site.edges
    assert places.guard_of(site, [nose]) is Guard.CLOSING
    assert places.guard_of(site, [tail]) is Guard.OPENING
    assert places.guard_of(site, [nose, tail]) is Guard.BOTH
    assert places.guard_of(site, []) is Guard.BOTH


def test_figures_follow_the_edge(site: Site) -> None:
    def termination(edge: Edge) -> float:
        changed = replace(site, edges=(edge,))
        fault: Any = catalogue.place(catalogue.faults()["resistor-at-near-end"], changed, edge.name).fault
        return float(fault.ohm)

    assert termination(site.edges[0]) == 8_200
    assert termination(replace(site.edges[0], termination=4_700.0)) == 4_700


def test_figures_are_in_their_bands(site: Site) -> None:
    """Above the band and not open; off its record and not out of the band."""
    edge = site.edges[0]
    corroded: Any = catalogue.place(catalogue.faults()["corroded-joint"], site, edge.name).fault
    assert edge.band_high < places.resting(site, edge) + corroded.ohm < edge.open_above
    wrong: Any = catalogue.place(catalogue.faults()["wrong-termination"], site, edge.name).fault
    assert edge.band_low < places.resting(site, edge) * wrong.share < places.resting(site, edge)
