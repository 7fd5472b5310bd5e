"""Reaction budgets against hand sums and worked stops."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from field_site import MM, a_drive, a_site
from hypothesis import given
from hypothesis import strategies as st

from gatesim.events import Direction
from gatesim.field import budget as b
from gatesim.field.limits import limits_of, said
from gatesim.plant.motion import Ramp, at, move
from gatesim.plant.site import CurvePoint, LimitOverride, Profile, Site


def parts(budget: b.Budget) -> dict[str, int]:
    return {line.part: line.us for line in budget.lines}


def test_worked_stops() -> None:
    # v t + v2/2a: 0.3048 m/s, 0.1 s, 1 m/s2: 0.07693 m (calculated); 20 m/s, 5 s, 4 m/s2: 150 m (tutor's answer).
    assert b.stopping_distance(0.3048, 100_000, 1e-6) / 1e6 == pytest.approx(0.07693, abs=5e-6)
    assert b.stopping_distance(20, 5_000_000, 4e-6) / 1e6 == pytest.approx(150)
    # 450 kg, 0.2 m/s, 380 N, 0.15 s: 53.684 mm (calculated, agrees with an ODE solver).
    assert b.stopping_distance(0.2, 150_000, 380 / 450 * 1e-6) / MM == pytest.approx(53.684, abs=0.0005)


def test_press_budget_line_by_line(site: Site) -> None:
    zone, edge, node = site.zones[0], site.edges[0], site.transmitters[0]
    made = parts(b.press_budget(site, zone, edge, node, limits_of(site)))
    assert (made["scan"], made["debounce"], made["frame"], made["repeats"]) == (10_000, 10_000, 16_000, 30_000)
    assert (made["controller"], made["reversal dwell"], made["start delay"]) == (0, 200_000, 60_000)
    # Started right before it: sqrt(2 x 6 mm / 0.5 m/s2) = 154.92 ms to actuate, 77.5 mm/s there; 116 ms more until the
    # stop acts: 135.5 mm/s; 50 ms + 135.46 / 0.9 = 200.5 ms.
    assert made["actuating travel"] == 154_920
    assert made["stopping"] == pytest.approx(200_511, abs=2)


def test_budget_of_a_wired_edge_has_no_frame(wired_site: Site) -> None:
    made = b.press_budget(wired_site, wired_site.zones[0], wired_site.edges[0], wired_site.wired_inputs[0],
                          limits_of(wired_site))
    assert (parts(made)["frame"], parts(made)["repeats"], parts(made)["debounce"]) == (0, 0, 10_000)
    push = b.push_of(wired_site, wired_site.zones[0], wired_site.edges[0], wired_site.wired_inputs[0])
    assert push.first == push.last


def test_travel_after_actuation_by_hand(site: Site) -> None:
    push = b.push_of(site, site.zones[0], site.edges[0], site.transmitters[0])
    # 0.2 m/s x (10 + 10 + 16 + 50) ms = 17.2 mm; 0.04 / 1.8 = 22.222 mm; 30 ms of repeats: 6 mm more.
    assert push.speed == pytest.approx(0.2)
    assert push.first / MM == pytest.approx(39.422, abs=0.001)
    assert push.last / MM == pytest.approx(45.422, abs=0.001)
    assert push.margin_last / MM == pytest.approx(9.578, abs=0.001)
    assert not push.is_exceeded
    weak = b.push_of(site, site.zones[0], replace(site.edges[0], overtravel=42 * MM), site.transmitters[0])
    assert weak.margin_first > 0 > weak.margin_last
    assert weak.is_exceeded


def test_lost_link_is_found_within_t_and_d(site: Site) -> None:
    # Path cut, a frame in flight survives: T + D (closed form, state model checkers): 900 + 16 ms.
    found, reacted = b.lost_link_budgets(site, site.transmitters[0], Direction.CLOSING, True, limits_of(site))
    assert found.total == 916_000
    # Then 50 ms + 0.2 / 0.9 s to stand, 200 ms dwell, 60 ms start delay.
    assert reacted.total == 916_000 + 272_223 + 260_000
    _, stopped = b.lost_link_budgets(site, site.transmitters[0], Direction.CLOSING, False, limits_of(site))
    assert stopped.total == 916_000 + 272_223
    assert stopped.until == "standstill, lockout stored"


def test_a_slow_store_counts_where_the_gate_only_stops(site: Site) -> None:
    slow = replace(site, controller=replace(site.controller, store_write=400_000))
    _, stopped = b.lost_link_budgets(slow, slow.transmitters[0], Direction.CLOSING, False, limits_of(slow))
    assert stopped.total == 916_000 + 400_000


def test_force_budget_reaches_the_limit_on_the_edges_curve(site: Site) -> None:
    # 240 N on the line (6 mm, 45 N) to (61 mm, 300 N): 6 + 55 x 195/255 = 48.06 mm, 600.7 ms at 0.08 m/s.
    made = b.force_budget(site, site.zones[0], site.edges[0], limits_of(site))
    assert parts(made)["to the force limit"] == pytest.approx(600_735, abs=1)
    assert parts(made)["force dwell"] == 60_000
    # On a curve of more points, and with a gauge of 500 N/mm behind it: 240 N at 20 mm + 30 mm x 40/100, + 0.48 mm.
    points = tuple(CurvePoint(deep * MM, force) for deep, force in ((6, 45_000), (20, 200_000), (50, 300_000)))
    curved = replace(site, instrument_stiffness=500.0)
    made = b.force_budget(curved, site.zones[0], replace(site.edges[0], curve=points), limits_of(site))
    assert "32.5 mm" in made.lines[0].how
    # The bare leaf: 240 N over 500 N/mm is 0.48 mm.
    assert "0.5 mm" in b.force_budget(site, site.zones[0], None, limits_of(site)).lines[0].how


def test_blind_way_after_a_start(site: Site) -> None:
    # 0.4 s and 40 mm to reach 0.2 m/s, 0.1 s at it: 60 mm.
    blind = b.blind_of(site, Direction.CLOSING)
    assert blind.after_start / MM == pytest.approx(60)
    assert not blind.is_too_far
    # 16 CFR 1211.7(b), 2002 edition, as analogue: a 1 in (25.4 mm) obstruction must still be felt.
    assert b.blind_of(replace(site, drive=a_drive(blind_at_end=25.4 * MM)), Direction.CLOSING).is_too_far


def test_limits_come_from_the_requirements_and_the_sites_own(site: Site) -> None:
    limits = limits_of(site)
    # 16 CFR 1211.7(a), 2002 edition, as analogue: 2 s.
    assert limits.edge is not None
    assert limits.edge.value == 2_000_000
    assert said(limits.edge.source).endswith("as analogue")
    override = LimitOverride("edge-alone-reversal-begun", "500 ms", "site survey, clause 4")
    own = replace(site, limit_overrides=(override,))
    made = b.press_budget(own, own.zones[0], own.edges[0], own.transmitters[0], limits_of(own))
    assert made.limit == 500_000
    assert made.is_exceeded
    assert "site survey" in made.source
    proved = limits_of(replace(site, limits=Profile.PROVED_FORCE))
    assert proved.edge is not None
    assert proved.edge.value == 2_000_000


speeds = st.integers(50, 400).map(lambda mm: mm / 1_000)


@given(speeds, speeds, st.integers(0, 2_000), st.integers(0, 4_600), st.integers(0, 4_600), st.sampled_from(Direction))
def test_highest_speed_is_that_of_the_solved_motion(
    full: float, slow: float, zone: int, one: int, other: int, way: Direction
) -> None:
    drive = a_drive(speed_opening=full, speed_closing=full, slow_speed=slow, slow_zone=zone * MM)
    site = a_site(drive=drive)
    low, high = min(one, other) * MM, max(one, other) * MM
    travel = site.gate.travel
    ramp = Ramp(full, slow, zone * MM, drive.acceleration, drive.deceleration)
    pieces = move(0.0, 0.0 if way is Direction.OPENING else travel, 0.0, way.sign, travel, ramp)
    last = pieces[-1]
    until = last.t + (travel - last.x if way is Direction.OPENING else last.x) / abs(last.v)
    spans = pairwise([*(piece.t for piece in pieces), until])
    seen = [at(pieces, start + (end - start) * k / 50) for start, end in spans for k in range(51)]
    fastest = max((abs(v) for x, v in seen if low <= x <= high), default=0.0)
    highest = b.highest_speed(site, way, low, high)
    assert highest >= fastest - 1e-9
    # Sampled 50 times a piece, the motion comes near it wherever the stretch is long enough to be met.
    if high - low > 100 * MM:
        assert highest <= fastest + 0.012
