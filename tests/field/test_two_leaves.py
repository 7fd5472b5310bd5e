"""The plan of a site of two leaves: each leaf by its own drive and travel."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from gatesim.events import Direction, LeafName
from gatesim.field.air_time import learns_start, travel_time
from gatesim.field.beams import beam_budget, separation
from gatesim.field.budget import blinds_of, force_budget, press_budget, push_of
from gatesim.field.limits import limits_of
from gatesim.field.means import back_guarded_without, ways_back, zone_plan
from gatesim.field.plan import as_json, plan
from gatesim.plant.site import Beam, LearnsMotion, Site
from gatesim.scenario.read import read_site

OPENING, CLOSING = Direction.OPENING, Direction.CLOSING


@pytest.fixture
def court() -> Site:
    """The shipped site; its second leaf has a drive of its own: slower to stop, blind for longer."""
    site = read_site(Path(__file__).parents[2] / "scenarios" / "sites" / "foundry-court.site.yaml")
    assert site.second_leaf is not None
    own = replace(site.drive, stopping_delay=90_000, start_delay=80_000, force_dwell=100_000, blind_at_end=30_000.0)
    return replace(site, second_leaf=replace(site.second_leaf, drive=own))


def zone(site: Site, name: str) -> object:
    return next(one for one in site.zones if one.name == name)


def budgets(site: Site, which: str) -> dict[str, int]:
    edge = next(one for one in site.edges if one.name == f"{which} front edge")
    node = next(one for one in site.transmitters if one.name == f"{which} transmitter")
    made = press_budget(site, zone(site, f"{which} closing gap"), edge, node, limits_of(site))  # type: ignore[arg-type]
    return {line.part: line.us for line in made.lines}


def test_a_reaction_is_that_of_the_leaf_touched_and_waits_for_nobody(court: Site) -> None:
    first, second = budgets(court, "first"), budgets(court, "second")
    assert second["start delay"] - first["start delay"] == 20_000
    assert second["stopping"] > first["stopping"]
    assert set(first) == set(second)


def test_travel_after_actuation_and_force_are_the_leaf_s(court: Site) -> None:
    limits, found = limits_of(court), []
    for which in ("first", "second"):
        edge = next(one for one in court.edges if one.name == f"{which} front edge")
        node = next(one for one in court.transmitters if one.name == f"{which} transmitter")
        gap = zone(court, f"{which} closing gap")
        force = force_budget(court, gap, edge, limits)  # type: ignore[arg-type]
        found.append((push_of(court, gap, edge, node).first, {one.part: one.us for one in force.lines}))  # type: ignore[arg-type]
    assert found[1][0] > found[0][0]
    assert found[1][1]["force dwell"] - found[0][1]["force dwell"] == 40_000


def test_blind_zones_are_said_for_each_leaf(court: Site) -> None:
    assert [(one.leaf, one.direction, one.at_end) for one in blinds_of(court)] == [
        ("first", OPENING, 20_000.0), ("first", CLOSING, 20_000.0), ("second", OPENING, 30_000.0),
        ("second", CLOSING, 30_000.0)]
    told = zone_plan(court, zone(court, "second closing gap"))  # type: ignore[arg-type]
    assert any("30.0 mm" in said for said in told.uncovered)
    assert any("force sensing of the second leaf, closing" in gap for gap in plan(court).gaps)


def ray(*zones: str) -> Beam:
    return Beam("ray", zones, 0.0, 1_800_000.0, 140_000.0, 30_000, 80_000)


@pytest.mark.parametrize(("zones", "guarded"), [
    ((), False), (("first pocket",), True), (("second pocket",), False), (("first pocket", "second pocket"), True)])
def test_a_beam_guards_the_way_back_of_its_own_leaves(court: Site, zones: tuple[str, ...], guarded: bool) -> None:
    """The only other guard of the first leaf's way back hangs on the transmitter that is silent."""
    edges = tuple(replace(one, input="first transmitter") if one.name == "first pocket edge" else one
                  for one in court.edges)
    site = replace(court, edges=edges, beams=(ray(*zones),) if zones else ())
    assert back_guarded_without(site, CLOSING, "first transmitter") is guarded
    closing = next(one for one in ways_back(site) if one.moving is CLOSING)
    taken = (("first transmitter", ("first front edge", "first pocket edge")),
             ("the receiver", ("first front edge", "second front edge", "first pocket edge")))
    assert closing.shared == (() if guarded else taken)
    assert closing.beams == tuple(one.name for one in site.beams)


def test_a_beam_waits_for_the_slower_of_its_leaves(court: Site) -> None:
    """The second leaf's drive takes longer to stop, and to start again."""
    found = {}
    for zones in (("first closing gap",), ("second closing gap",), ("first closing gap", "second closing gap")):
        site = replace(court, beams=(ray(*zones),))
        found[zones] = (separation(site, site.beams[0]).time, beam_budget(site, site.beams[0], limits_of(site)).total)
    first, second, both = found.values()
    assert both == second
    assert second[0] > first[0]
    assert second[1] - first[1] > second[0] - first[0]
    assert separation(replace(court, beams=(ray("first closing gap"),)), ray("first closing gap")).time == first[0]


def test_one_leaf_s_blind_zones_name_no_leaf(court: Site) -> None:
    alone = replace(court, second_leaf=None, zones=court.zones[:2], edges=court.edges[:2])
    assert [one.leaf for one in blinds_of(alone)] == ["", ""]


def test_the_move_lasts_until_the_last_leaf_is_there(court: Site) -> None:
    """By hand: ramp, cruise, slowing to the creep speed, creep over the slow zone; s."""
    up, down, creep, slow_zone = 0.5, 0.4, 0.08, 0.3

    def alone(v: float, travel: float) -> float:
        ramps = v * v / (2 * up) + (v * v - creep * creep) / (2 * down)
        return v / up + (v - creep) / down + (travel - slow_zone - ramps) / v + slow_zone / creep

    assert travel_time(court, OPENING) / 1e6 == pytest.approx(max(alone(0.2, 2.4), 0.6 + alone(0.2, 1.8)), abs=1e-6)
    # The second leaf leads, 80 ms after the order; the first follows 60 ms after its own.
    late = 1.2 - 0.08 + 0.06
    assert travel_time(court, CLOSING) / 1e6 == pytest.approx(max(late + alone(0.18, 2.4), alone(0.18, 1.8)), abs=1e-6)


def test_the_leaf_underneath_waits_for_the_overlap(court: Site) -> None:
    """Off the closed end when the other is 1.2 m open: 0.2 m/s after a ramp at 0.5 m/s2, and its own start delay."""
    assert court.second_leaf is not None
    wide = replace(court, second_leaf=replace(court.second_leaf, overlap=1_200_000.0))
    v, up = 0.2, 0.5
    free = v / up + (1.2 - v * v / (2 * up)) / v
    ramps = v * v / (2 * up) + (v * v - 0.08 * 0.08) / (2 * 0.4)
    alone = v / up + (v - 0.08) / 0.4 + (1.8 - 0.3 - ramps) / v + 0.3 / 0.08
    assert travel_time(wide, OPENING) / 1e6 == pytest.approx(free + 0.08 + alone, abs=1e-6)


def test_a_felt_start_is_that_of_the_transmitter_s_leaf(court: Site) -> None:
    first, second = (replace(node, learns_motion=LearnsMotion.FELT) for node in court.transmitters)
    assert learns_start(court, second) - learns_start(court, first) == 20_000


def test_each_leaf_needs_its_own_guard_on_the_way_back(court: Site) -> None:
    assert back_guarded_without(court, OPENING, "first transmitter") is False
    assert back_guarded_without(court, CLOSING, "first transmitter") is True
    edges = tuple(one for one in court.edges if one.name != "second front edge")
    assert back_guarded_without(replace(court, edges=edges), OPENING, "second transmitter") is True


def test_the_plan_is_plain_values(court: Site) -> None:
    said = as_json(plan(court))
    assert {one["leaf"] for one in said["blind"]} == {leaf.value for leaf in LeafName}
