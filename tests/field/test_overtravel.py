"""The plan's sums of overtravel against stopping distance."""

from __future__ import annotations

from dataclasses import replace

import pytest
from field_site import MM, a_site, an_edge

from gatesim.field.overtravel import overtravels
from gatesim.field.plan import as_json, plan
from gatesim.plant.site import Profile, Site


def test_each_term_by_hand(site: Site) -> None:
    front, rear = overtravels(site)
    assert (front.edge, front.speed, rear.edge, rear.speed) == ("front edge", 0.2, "rear edge", 0.22)
    # 0.2 m/s x 10, 10, 12, 4, 30, 0, 50 ms; 0.04 / 1.8.
    assert [(term.part, round(term.um)) for term in front.terms] == [
        ("scan", 2_000), ("debounce", 2_000), ("latency", 2_400), ("spread", 800), ("repeats", 6_000),
        ("controller", 0), ("stopping delay", 10_000), ("stopping distance", 22_222)]
    assert front.moved / MM == pytest.approx(45.422, abs=1e-3)
    assert front.margin / MM == pytest.approx(55 - 45.422, abs=1e-3)


def test_the_narrow_gap_has_its_own_speed_and_limit() -> None:
    front = an_edge("front edge", "gap", "front node", full_force=500_000, length=1_700 * MM)
    site = a_site(edges=(front,), limits=Profile.PROVED_FORCE)
    slow = replace(site, drive=replace(site.drive, slow_zone=900 * MM))
    wide, narrow = overtravels(slow)
    assert (wide.stretch, narrow.stretch) == ("gap of 500 mm and more", "gap below 500 mm")
    assert wide.speed > narrow.speed == slow.drive.slow_speed
    # 400 N on the line from (6 mm, 45 N) to (61 mm, 500 N).
    assert narrow.give / MM == pytest.approx(55 * 355 / 455)
    assert wide.give / MM == pytest.approx(55)


def test_it_stands_in_the_plan_and_counts(site: Site) -> None:
    assert all(gap.find("at the worst") < 0 for gap in plan(site).gaps)
    heavy = replace(site, gate=replace(site.gate, heaviest=600.0))
    made = plan(heavy)
    assert [one.is_exceeded for one in made.overtravels] == [True, True]
    assert sum("of travel after actuation at the worst" in gap for gap in made.gaps) == 2
    told = as_json(made)["overtravels"][0]
    assert told["margin"] == pytest.approx(told["give"] - told["moved"])
    assert told["margin"] < 0
