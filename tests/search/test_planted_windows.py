"""Real logic with planted windows, the plant around it: a grid finds none or few of them, laying moments finds all."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import pytest

from gatesim.events import Direction
from gatesim.plant.faults.catalogue import faults, place
from gatesim.run import default_roles
from gatesim.scenario.read import read_site
from gatesim.search.classes import Class
from gatesim.search.ground import Ground, Phase
from gatesim.search.moments import Coverage, grid, lay
from gatesim.search.probe import FaultProber
from gatesim.search.sweep import Bench

sys.path.insert(0, str(Path(__file__).parent))

from deaf import DeafClassifier

SITE = Path(__file__).parents[2] / "scenarios" / "sites" / "orchard-row.site.yaml"
COUNT = 20


def always(_: int) -> bool:
    return True


def deaf_site(sampling: int, scans: int) -> tuple[FaultProber, Ground]:
    """The site scanned that often (us), its classifier deaf to a change at every so many scans; an opened loop."""
    site = read_site(SITE)
    inputs = tuple(replace(node, sampling=sampling, sampling_phase=0) for node in site.wired_inputs)
    site = replace(site, wired_inputs=inputs)
    bench = Bench(site, default_roles()._replace(classifier=DeafClassifier(scans, 77)), 1, [Phase.TRAVEL])
    ground = next(one for one in bench.grounds if one.direction is Direction.CLOSING)
    spot = place(faults()["loop-open"], site, "front edge")
    return FaultProber(bench.plant, site, 1, ground, spot), ground


@pytest.mark.slow
@pytest.mark.parametrize(("sampling", "scans"), [(200, 1251), (1, 250_200)])
def test_twenty_windows_are_found_to_the_microsecond(sampling: int, scans: int) -> None:
    prober, ground = deaf_site(sampling, scans)
    every = scans * sampling
    first = ground.first + 2_000_000
    last = first + COUNT * every - 1
    laid = lay(first, last, sampling, prober, always)
    assert laid.coverage is Coverage.EXACT
    assert laid.gaps == ()
    assert laid.worst.what is Class.UNSAFE
    assert laid.classes == {Class.UNSAFE: COUNT * sampling, Class.SAFE: COUNT * (every - sampling)}
    # Where they are, said without any search: scan n (from 1) stands at (n - 1) * sampling, and sees what came since
    # the scan before it.
    scan = 77
    while (scan - 1) * sampling < first:
        scan += scans
    ends = [(scan + k * scans - 1) * sampling for k in range(COUNT)]
    assert any(end - sampling < laid.worst.at <= end for end in ends)
    for end in ends:
        inside = [end - sampling + 1, end]
        told = [prober(moment).what for moment in (inside[0] - 1, *inside, end + 1)]
        assert told == [Class.SAFE, Class.UNSAFE, Class.UNSAFE, Class.SAFE]


@pytest.mark.slow
@pytest.mark.parametrize(("sampling", "scans", "found"), [(200, 1251, 4), (1, 250_200, 0)])
def test_a_grid_of_a_millisecond_finds_few_or_none(sampling: int, scans: int, found: int) -> None:
    """Tried are the moments of the grid next to each window, four on each side; farther ones can't be in it."""
    prober, ground = deaf_site(sampling, scans)
    every, hits, runs = scans * sampling, 0, 0
    for k in range(COUNT):
        end = 76 * sampling + (ground.first // every + 9 + k) * every
        near = range((end // 1000 - 3) * 1000, (end // 1000 + 5) * 1000, 1000)
        seen = grid(near, prober)
        hits += seen.classes.get(Class.UNSAFE, 0)
        runs += seen.runs
        assert seen.coverage is Coverage.SAMPLED
        assert seen.bound is None
    assert hits == found
    assert runs >= COUNT * 8


@pytest.mark.slow
def test_what_is_not_reached_in_time_is_incomplete() -> None:
    prober, ground = deaf_site(200, 1251)
    laid = lay(ground.first, ground.last, 200, prober, lambda runs: runs < 30)
    assert laid.coverage is Coverage.INCOMPLETE
    assert laid.gaps
    assert laid.bound is None
