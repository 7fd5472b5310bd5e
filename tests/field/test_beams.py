"""Beams in the plan: the sum S = K T + C, what counts as a means, budgets and the sheet."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from field_site import MM, S, an_edge

from gatesim.cli.known import scenario
from gatesim.events import BeamInterrupted, Direction, LeafStopped
from gatesim.field.beams import INTERRUPTED, beam_budget, least_distance, separation, unseen
from gatesim.field.limits import limits_of
from gatesim.field.means import BEAM, EDGE, FORCE, back_guarded_without, ways_back, zone_plan
from gatesim.field.plan import as_json, plan
from gatesim.plant.site import Beam, Monitoring, Profile, Site
from gatesim.report.plan_text import plan_text
from gatesim.run import default_roles, run_scenario

ROOT = Path(__file__).parents[2]
CLOSING, OPENING = Direction.CLOSING, Direction.OPENING


def a_beam(site: Site, **other: object) -> Beam:
    zone = next(zone for zone in site.zones if zone.direction is CLOSING)
    made = Beam("ray", (zone.name,), zone.start, zone.end, 150 * MM, 30_000, 80_000)
    return replace(made, **other)  # type: ignore[arg-type]


def with_beam(site: Site, **other: object) -> Site:
    return replace(site, beams=(a_beam(site, **other),))


@pytest.mark.parametrize(
    ("time_ms", "detects_mm", "k", "c_mm", "s_mm"),
    [
        (300, 50, 1600, 850, 1330),  # a gate beam: 480 + 850
        (320, 14, 1600, 0, 512),  # 2000 T = 640 > 500, so 1600 T
        (200, 14, 2000, 0, 400),
        (250, 14, 2000, 0, 500),  # exactly 500: still 2000
        (251, 14, 1600, 0, 500),  # 1600 T = 401.6, not below 500
        (10, 14, 2000, 0, 100),  # never below 100
        (100, 40, 2000, 208, 408),
        (100, 40.001, 1600, 850, 1010),
        (100, 10, 2000, 0, 200),  # C is not negative
    ],
)
def test_least_distance(time_ms: float, detects_mm: float, k: float, c_mm: float, s_mm: float) -> None:
    """By hand from ISO 13855:2010, clause 5 (read) and 6.2 (from memory)."""
    found = least_distance(time_ms * 1000, detects_mm * MM)
    assert found == pytest.approx((k, c_mm * MM, s_mm * MM))


def test_time_is_to_standstill_and_knows_the_pulse(site: Site) -> None:
    asked = separation(site, a_beam(site))
    drive = site.drive
    stop = drive.stopping_delay + drive.speed_closing / drive.stopping_deceleration
    assert asked.time == pytest.approx(30_000 + stop, abs=1)
    tested = separation(site, a_beam(site, monitoring=Monitoring.CONTINUOUSLY))
    assert tested.time - asked.time == 80_000
    assert asked.press == pytest.approx(63 * 25.4 * MM * asked.time / 1e6)


def test_it_is_met_at_s_and_not_just_below(site: Site) -> None:
    least = separation(site, a_beam(site)).least
    assert separation(site, a_beam(site, distance=least)).is_met
    assert not separation(site, a_beam(site, distance=least - 1)).is_met


def test_a_beam_is_a_kind_of_its_own(site: Site) -> None:
    gap = site.zones[0]
    bare = replace(with_beam(site), edges=())
    assert zone_plan(bare, gap).kinds == (BEAM, FORCE)
    assert zone_plan(bare, gap).missing == 0
    assert zone_plan(bare, replace(gap, force_sensing=False)).missing == 1
    assert zone_plan(with_beam(site), gap).kinds == (EDGE, BEAM, FORCE)


def test_two_beams_are_one_kind(site: Site) -> None:
    two = replace(site, edges=(), beams=(a_beam(site), a_beam(site, name="second ray")))
    assert zone_plan(two, replace(site.zones[0], force_sensing=False)).missing == 1


def test_where_one_means_is_enough_only_a_beam_that_keeps_s_counts(site: Site) -> None:
    gap = replace(site.zones[0], force_sensing=False)
    near = replace(with_beam(site), edges=(), limits=Profile.PROVED_FORCE)
    assert zone_plan(near, gap).missing == 1
    assert "nearer" in zone_plan(near, gap).means[0].why_not
    far = replace(near, beams=(a_beam(site, distance=5_000 * MM),))
    assert zone_plan(far, gap).missing == 0


def test_a_ray_that_does_not_run_along_the_zone_counts_for_nothing(site: Site) -> None:
    gap = replace(site.zones[0], start=0.0, end=1_000 * MM)
    aside = with_beam(site, start=1_000 * MM, end=2_000 * MM)
    assert not zone_plan(aside, gap).means[1].counts
    part = with_beam(site, start=400 * MM, end=2_000 * MM)
    assert zone_plan(part, gap).means[1].counts
    assert zone_plan(part, gap).uncovered[0] == "ray does not see 400 mm of the zone"
    assert unseen(part.beams[0], gap.start, gap.end) == 400 * MM


def test_a_beam_guards_the_way_back(site: Site) -> None:
    closing = next(way for way in ways_back(replace(with_beam(site), edges=())) if way.moving is OPENING)
    assert (closing.beams, closing.edges, closing.force) == (("ray",), (), False)
    edges = (an_edge("front edge", site.zones[0].name, "front node"),)
    assert back_guarded_without(replace(with_beam(site), edges=edges), OPENING, "front node")
    assert not back_guarded_without(replace(site, edges=edges), OPENING, "front node")


def test_the_budget_is_a_sum_against_its_requirement(site: Site) -> None:
    made = beam_budget(site, a_beam(site), limits_of(site))
    drive = site.drive
    by_hand = (30_000 + drive.stopping_delay + drive.speed_closing / drive.stopping_deceleration
               + site.controller.reversal_dwell + drive.start_delay)
    assert made.total == pytest.approx(by_hand, abs=1)
    assert (made.case, made.limit, made.direction) == (INTERRUPTED, 2 * S, CLOSING)
    slow = beam_budget(site, a_beam(site, response_time=2 * S), limits_of(site))
    assert slow.is_exceeded


def test_the_plan_says_all_of_it(site: Site) -> None:
    made = plan(with_beam(site))
    said = plan_text(made)
    assert "presence detection, not judged by S" in " ".join(said.split())
    assert "S is kept" not in said
    assert "1211.11(b)" in said
    groups = {step.group[:1] for step in made.steps if step.device == "ray"}
    assert groups == {"C", "E"}
    assert any("interrupt a closing beam" in step.do for step in made.steps)
    assert "S is kept" in " ".join(plan_text(plan(with_beam(site, distance=5_000 * MM))).split())
    assert all(len(line) <= 80 for line in said.splitlines())
    found = as_json(made)["separations"][0]
    assert (found["beam"], found["is_met"]) == ("ray", False)
    assert found["time"] == made.separations[0].time


def test_a_plan_without_beams_says_nothing_of_them(site: Site) -> None:
    said = plan_text(plan(site))
    assert "S = K T" not in said
    assert "beam" not in said


def test_the_sums_are_what_a_run_shows() -> None:
    """The shipped scenario: ray interrupted at the full speed, to the leaf at rest and to the reversal begun."""
    found = scenario(ROOT / "scenarios/beam-then-edge.scenario.yaml")
    result = run_scenario(found, default_roles())
    ray = found.site.beams[0]
    whole = result.sections[0].events
    begun = next(at for at, event in whole if type(event) is BeamInterrupted)
    rest = next(at for at, event in whole if type(event) is LeafStopped and at > begun)
    assert rest - begun == pytest.approx(separation(found.site, ray).time, abs=1)
    row = next(row for row in result.rows if row.requirement == "beam-reversal-begun")
    total = beam_budget(found.site, ray, limits_of(found.site)).total
    assert row.verdict.figures.measured == pytest.approx(total, abs=1)


def test_a_too_slow_beam_is_a_gap(site: Site) -> None:
    slow = with_beam(site, response_time=2 * S, test_pulse=2 * S)
    assert any("ray" in gap and INTERRUPTED in gap for gap in plan(slow).gaps)
