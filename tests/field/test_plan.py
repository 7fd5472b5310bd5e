"""The plan as a whole: what is missing is counted, the sheet is in a safe order, JSON is plain."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest
from field_site import MM, a_cell, a_drive, a_site, a_transmitter, a_wired_site, an_edge

from gatesim.errors import BadUsage
from gatesim.events import Direction
from gatesim.field.plan import FORMAT, as_json, plan
from gatesim.field.radio import Moves
from gatesim.plant.loop_tables import Joining, StripKind
from gatesim.plant.site import LimitOverride, Monitoring, ReceiverTable, Site, Zone
from gatesim.report.plan_text import plan_text

S = 1_000_000


def test_a_sound_site_misses_nothing(site: Site) -> None:
    made = plan(site)
    assert made.gaps == ()
    assert made.missing == 0


def test_a_wired_site_misses_the_second_means_of_the_side_without_an_edge(wired_site: Site) -> None:
    made = plan(wired_site)
    assert made.missing == 1
    assert made.gaps == ("zone pocket, opening: 1 of 2 means MISSING",)
    assert made.radios == ()


def _with_node(**other: object) -> Site:
    return a_site(transmitters=(a_transmitter("front node", **other), a_transmitter("rear node", identity=102)))


def _with_edge(**other: object) -> Site:
    front = an_edge("front edge", "gap", "front node", **other)
    return a_site(edges=(front, an_edge("rear edge", "pocket", "rear node")))


def _watched(at_rest: int, in_motion: int) -> Site:
    return a_site(receiver=ReceiverTable(("front node", "rear node"), at_rest, in_motion))


@pytest.mark.parametrize(("bad", "said"), [
    (_with_node(air_time=5_000), "over the budget of 2.000 s"),
    (_with_node(checkin_in_motion=950_000), "runs out between two check-ins"),
    (_with_node(checkin_in_motion=800_000, loss=0.01), "not one check-in may be lost"),
    (_watched(20_200_000, 900_000), "when a move has ended"),
    (_watched(70 * S, 27_999), "before the first check-in of a move"),
    (_with_node(loss=0.2), "links a day are taken for lost"),
    (_with_node(cell=replace(a_cell(), critical_voltage=2_880)), "leads critical by"),
    (_with_node(cell=replace(a_cell(), low_voltage=3_200)), "fresh cell"),
    (_watched(70 * S, 1_600_000), "found later than its limit"),
    (_watched(70 * S, 1_600_000), "lost link, reacted"),
    (_with_edge(overtravel=40 * MM), "mm of travel after actuation"),
    (_with_edge(termination=10_000), "outside its band"),
    (_with_edge(length=50 * MM), "too short for two holes"),
    (a_site(drive=a_drive(blind_at_end=30 * MM)), "must be less than 25.4 mm"),
    (a_site(drive=a_drive(force_dwell=1_900_000)), "force sensing"),
    (a_site(limit_overrides=(LimitOverride("fault-in-motion", "300 ms", "survey"),)), "wire off in motion"),
    (a_site(zones=(Zone("gap", Direction.CLOSING, 0, 1e6, force_sensing=False),)), "MISSING"),
])
def test_each_shortfall_is_found_and_counted(bad: Site, said: str) -> None:
    made = plan(bad)
    assert any(said in gap for gap in made.gaps), made.gaps
    assert made.missing == len(made.gaps) > 0


def test_a_watchdog_that_outlasts_a_move_is_found_where_the_device_is_not_asked() -> None:
    node = a_transmitter("front node", monitoring=Monitoring.CONTINUOUSLY)
    site = a_site(transmitters=(node, a_transmitter("rear node")),
                  receiver=ReceiverTable(("front node", "rear node"), 70 * S, 30 * S))
    said = {radio.transmitter: radio.troubles for radio in plan(site).radios}
    assert any("outlasts a whole move" in one for one in said["front node"])
    assert not any("outlasts a whole move" in one for one in said["rear node"])


def test_moves_are_an_argument(site: Site) -> None:
    idle, busy = plan(site, moves=Moves(0, 0)), plan(site, moves=Moves(60, 600))
    # No move: 3600 s / 20 s = 180 frames of 1 ms.
    assert idle.radios[0].air_time_an_hour == pytest.approx(180_000)
    assert busy.radios[0].air_time_an_hour > 2_000_000
    assert idle.radios[0].battery.years > busy.radios[0].battery.years
    with pytest.raises(BadUsage, match="do not fit"):
        plan(site, moves=Moves(2, 49))


def test_remarks_name_what_no_figure_decides(site: Site) -> None:
    odd = replace(site, zones=site.zones[:1], edges=(*site.edges[:1], an_edge("spare", "gap", "lost node")))
    said = plan(odd).remarks
    assert any("No entrapment zone is stated for opening" in one for one in said)
    assert any("spare hangs on lost node" in one for one in said)
    assert plan(site).remarks == ()


def test_the_sheet_is_in_a_safe_order(site: Site) -> None:
    steps = plan(site).steps
    assert [step.number for step in steps] == list(range(1, len(steps) + 1))
    groups = list(dict.fromkeys(step.group for step in steps))
    assert [group[0] for group in groups] == list("ABCDEFGH")
    # Common practice, no source: every supply off before any work, automatic closing last.
    assert "every supply: mains, solar, battery" in steps[0].do
    assert "Automatic closing off" in steps[1].do
    assert "Secure the leaf" in steps[2].do
    first_power = next(step.number for step in steps if "ower on" in step.do)
    assert all(step.number < first_power for step in steps if step.group.startswith(("A", "B")))
    live = next(step.number for step in steps if "automatic closing" in step.device and "Set it on" in step.do)
    assert live > max(step.number for step in steps if step.group.startswith(("E", "F", "G")))


@pytest.mark.parametrize("which", ["front edge", "rear edge"])
def test_each_edge_is_tried_in_every_way(site: Site, which: str) -> None:
    rows = [step for step in plan(site).steps if step.device == which]
    told = " | ".join(step.do for step in rows)
    for what in ("edge at rest", "Press near", "Release.", "Wire off", "Wire shorted", "Press the edge",
                 "Transmitter silent: cell out", "Run opening", "Run closing", "Transmitter silent in motion"):
        assert what in told, what
    assert all(step.expect for step in rows)
    assert all(step.points_to for step in rows)


def test_wires_are_touched_with_the_power_off_only(site: Site) -> None:
    for step in plan(site).steps:
        if step.group.startswith("C") and ("one lead off" in step.do or "leads joined" in step.do):
            assert step.do.startswith("Power off, proved off.")


def test_expected_readings_are_those_of_the_site(site: Site) -> None:
    steps = plan(site).steps
    readings = [step for step in steps if step.device == "front edge"]
    assert any("8200.3 ohm" in step.expect for step in readings)
    # 10 + 10 + 16 + 30 ms to report a press, 70 s + 16 ms to miss a silent transmitter, 10 s for a press that outlasts.
    assert any("within 66 ms" in step.expect for step in readings)
    assert any("link lost within 70.0 s" in step.expect or "link lost within 70 s" in step.expect for step in readings)
    assert any("a fault after 10 s" in step.expect for step in readings)


def test_never_a_person_and_no_bridged_edge(site: Site) -> None:
    made = plan(site)
    assert any("Never a person" in caution for caution in made.cautions)
    block = [step.do for step in made.steps if step.group.startswith("F")]
    assert any("Never a person" in do for do in block)
    assert any("No edge is bridged or taken off" in do for do in block)


def test_wired_edge_has_no_transmitter_to_silence() -> None:
    assert not any("silent" in step.do for step in plan(a_wired_site()).steps)


def _plain(value: Any) -> bool:
    if isinstance(value, dict):
        return all(isinstance(key, str) and _plain(one) for key, one in value.items())
    if isinstance(value, list):
        return all(_plain(one) for one in value)
    return value is None or isinstance(value, str | int | float | bool)


def test_json_is_plain_and_carries_the_sums(site: Site) -> None:
    made = as_json(plan(site))
    assert _plain(made)
    again = json.loads(json.dumps(made, allow_nan=False))
    assert again == made
    assert made["format"] == FORMAT == "gatesim-plan/1"
    assert made["missing"] == 0
    assert made["zones"][0]["direction"] == "closing"
    budget = made["budgets"][0]
    assert budget["total"] == sum(line["us"] for line in budget["lines"])
    assert budget["margin"] == budget["limit"] - budget["total"]
    assert made["radios"][0]["moves"] == {"in_busiest_hour": 10, "in_a_day": 60, "presses_a_day": 4}
    drain = made["radios"][0]["battery"]["drain"]
    assert sum(item["current"] for item in drain["items"]) == pytest.approx(drain["total"])


def test_the_same_site_gives_the_same_plan(site: Site) -> None:
    assert plan(site) == plan(a_site())


def test_the_sheet_takes_the_wire_off_each_of_two_edges_side_by_side() -> None:
    site = a_site()
    front = replace(site.edges[0], band_low=3_000.0, band_high=6_000.0)
    other = replace(front, name="lower edge", joined_to=front.name, joining=Joining.PARALLEL)
    made = plan(replace(site, edges=(front, other, site.edges[1])))
    rows = [step for step in made.steps if "wire off where it joins" in step.do]
    assert [step.device for step in rows] == ["front edge", "lower edge"]
    assert all(step.expect == "8200.3 ohm, above the band" for step in rows)
    text = plan_text(made)
    assert "on one loop with lower edge, in parallel" in text
    assert "wire off     8200.3 ohm" in text


def test_an_edge_that_opens_swaps_what_open_and_short_come_to() -> None:
    site = a_site()
    edges = tuple(replace(edge, strip=StripKind.OPENS) for edge in site.edges)
    rows = [step for step in plan(replace(site, edges=edges)).steps if step.do.startswith("Power off, proved off. W")]
    assert [("pressed; a fault after 10 s" in row.expect, "reading invalid" in row.expect) for row in rows] == [
        (True, False), (False, True)] * 2
    budgets = {one.case: one.total for one in plan(replace(site, edges=edges)).budgets if one.device == "front edge"}
    usual = {one.case: one.total for one in plan(site).budgets if one.device == "front edge"}
    assert budgets["wire off in motion"] < usual["wire off in motion"]
    assert budgets["press"] == usual["press"]
