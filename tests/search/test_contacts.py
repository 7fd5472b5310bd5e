"""Contacts while a fault is there: their moment traced against grids, planted windows, replays, and what is claimed."""

from __future__ import annotations

from typing import Any

import pytest

from gatesim.events import Direction
from gatesim.plant.faults.catalogue import faults, place
from gatesim.requirements.verdict import Figures, Outcome, Verdict
from gatesim.run import default_roles, run_story
from gatesim.scenario.agenda import agenda
from gatesim.scenario.model import Fault, Scenario
from gatesim.search.contacts import MEANS, TRIES, Contacts, MeansProber, Strewn
from gatesim.search.moments import Coverage
from gatesim.search.probe import contact, merged
from gatesim.units import us

EDGE, FORCE, GATE = MEANS
LIMIT = 1000


class Planted:
    """Logic whose truth is known: the edge misses contacts in some windows, the force sensing none."""

    def __init__(self, begins: tuple[int, ...], width: int) -> None:
        self.begins, self.width = begins, width

    def __call__(self, moment: Any) -> dict[str, Verdict]:
        missed = any(moment >= begin and moment < begin + self.width for begin in self.begins)
        scan = moment // 100 * 100 + 100
        met = Verdict(Outcome.PASS, Figures(scan - moment, LIMIT, None))
        return {EDGE: Verdict(Outcome.FAIL, failure="no reversal") if missed else met, FORCE: met, GATE: met}


class Toys(Contacts):
    """Contacts with toy logic in the place of a gate."""

    def __init__(self, ground: Any, begins: tuple[int, ...], width: int) -> None:
        self.ground, self.period, self.planted = ground, 100, Planted(begins, width)
        self.healthy = Strewn(Planted((), 1), ground.first, ground.last, 100)

    def _strewn(self, place: Any, onset: int) -> Strewn:
        return Strewn(self.planted, onset, self.ground.last, 100)


@pytest.fixture(scope="module")
def ground(orchard_row):
    return next(one for one in orchard_row.grounds if one.direction is Direction.CLOSING)


@pytest.fixture
def toy_ground(ground):
    return ground._replace(first=0, last=99_999)


@pytest.mark.parametrize("width", [200, 1])
def test_every_planted_window_is_found_to_the_microsecond(toy_ground, width) -> None:
    begins = (1_234, 20_001, 50_550, 99_000)
    found = Toys(toy_ground, begins, width).latent(None, [0], lambda: True)
    assert found.coverage is Coverage.EXACT
    assert found.missed_us == (4 * width, 0, 0)
    assert (found.first, found.onset) == (1_234, 0)
    assert found.missed == ((EDGE, "no reversal"),)
    assert found.unprotected == width - 1
    assert dict(found.longest)[FORCE].measured == 100
    assert found.gaps == ()
    tried = Toys(toy_ground, begins, width).latent(None, [0], None)
    assert tried.coverage is Coverage.SAMPLED
    assert tried.tried == TRIES
    assert sum(tried.missed_us) <= 1


def test_what_is_not_reached_in_time_is_incomplete(toy_ground) -> None:
    left = iter(range(1))
    found = Toys(toy_ground, (50_000,), 10).latent(None, [0], lambda: next(left, None) is not None)
    assert found.coverage is Coverage.INCOMPLETE
    assert found.gaps
    assert "were not reached" in found.why


def test_each_region_has_an_onset_and_contacts_come_after_it(toy_ground) -> None:
    found = Toys(toy_ground, (1_000,), 10).latent(None, [40_000, 500], lambda: True)
    assert found.onsets == (500, 40_000)
    assert (found.onset, found.first) == (500, 1_000)
    later = Toys(toy_ground, (1_000,), 10).latent(None, [40_000], lambda: True)
    assert later.first is None
    assert later.coverage is Coverage.EXACT


def laid(bench, ground, kind: str, device: str, first: int, last: int) -> Strewn:
    spot = place(faults()[kind], bench.site, device)
    prober = MeansProber(bench.plant, bench.site, bench.seed, ground, spot, ground.first)
    one = Strewn(prober, first, last, bench.period)
    while (moment := one.next()) is not None:
        one.trace_at(moment)
    return one


@pytest.mark.parametrize("offset", [301_880, 8_002_380])
def test_a_window_is_what_a_grid_of_a_microsecond_shows(orchard_row, ground, offset) -> None:
    """In the run-up, and in mid-travel across the border of two regions."""
    first = ground.first + offset
    one = laid(orchard_row, ground, "sounder-dead", "sounder", first, first + 240)
    assert not one.weak
    assert 1 < one.runs < 100
    longest = 0
    for moment in range(first, first + 241):
        said = one.prober(moment)
        for name in MEANS:
            known = {outcome for outcome in (Outcome.PASS, Outcome.FAIL) if one.of[name, outcome].has(moment)}
            assert known == ({said[name].outcome} & {Outcome.PASS, Outcome.FAIL} if name in said else set())
        longest = max(longest, us(said[GATE].figures.measured))
    assert abs(one.longest[GATE].measured - longest) <= 1


def test_the_longest_replays_to_the_microsecond(orchard_row, ground) -> None:
    first = ground.first + 8_000_000
    one = laid(orchard_row, ground, "sounder-dead", "sounder", first, first + 30_000)
    one.test()
    assert not one.weak
    known = one.longest[GATE]
    fault = Fault(do="fault", fault="sounder-dead", device="sounder", at=ground.first)
    scenario = Scenario("", "", orchard_row.site, ground.ends, (fault,), ())
    story = merged(merged(list(ground.agenda), list(agenda(scenario))), [contact(orchard_row.site, ground, known.at)])
    rows = run_story(scenario, tuple(story), default_roles(), seed=1, keep=False).rows
    assert next(row.verdict.figures.measured for row in rows if row.requirement == GATE) == known.measured


def test_a_torn_edge_is_missed_at_every_moment_of_a_window(mill_lane) -> None:
    """The edge alone misses all of them, and the force sensing none; the healthy gate meets them by both."""
    ground = next(one for one in mill_lane.grounds
                  if (one.direction, one.phase.name) == (Direction.CLOSING, "TRAVEL"))
    first = ground.first + 12_000_000
    window = ground._replace(first=first, last=first + 2_500)
    contacts = Contacts(mill_lane.plant, mill_lane.site, 1, window, mill_lane.period)
    found = contacts.latent(place(faults()["edge-torn-loose"], mill_lane.site, "front edge"), [first], lambda: True)
    assert found.coverage is Coverage.EXACT
    assert found.missed_us == (2_501, 0, 0)
    assert (found.first, found.unprotected) == (first, 2_500)
    assert found.missed[0][0] == EDGE
