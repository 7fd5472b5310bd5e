"""What a plan says of the air: margin, nuisance along the travel, rule sets."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path as FilePath
from typing import Any

import pytest
from field_site import MM, S, a_site, a_transmitter

from gatesim.events import Direction
from gatesim.field.air import link_plan, nuisance_of, path_of, rule_plan
from gatesim.field.air_time import (
    DAY,
    changeover,
    false_lost_links_a_day,
    leaf_at_check_ins,
    misses_at_rest,
    misses_in_motion,
    travel_time,
)
from gatesim.field.budget import detection
from gatesim.field.nuisance import Path, trip_by
from gatesim.field.plan import as_json, plan
from gatesim.plant.radio_tables import (
    Bursts,
    Clock,
    Interference,
    JitterReading,
    LossPoint,
    Obstacle,
    OwnRule,
    RadioRule,
)
from gatesim.plant.site import Site
from gatesim.report.plan_text import COLUMNS, plan_text

sys.path.insert(0, str(FilePath(__file__).parent.parent / "plant"))

from air_bench import M, a_radio

TRAVEL = 4_600 * MM


def with_node(**other: Any) -> Site:
    return a_site(transmitters=(a_transmitter("front node", **other), a_transmitter("rear node", identity=102)))


def nuisance(site: Site) -> Any:
    node = site.transmitters[0]
    assert site.receiver is not None
    return nuisance_of(site, node, misses_at_rest(node, site.receiver), misses_in_motion(node, site.receiver), 60)


def test_the_leaf_is_where_the_check_ins_find_it() -> None:
    site = a_site()
    found = leaf_at_check_ins(site, site.transmitters[0], Direction.CLOSING)
    assert len(found) == int(travel_time(site, Direction.CLOSING) // 250_000) + 1
    assert found[0] == TRAVEL
    assert list(found) == sorted(found, reverse=True)
    assert 0 < found[-1] < 0.08 * 250_000
    # Full speed: 0.2 m/s, 50 mm between two.
    assert found[40] - found[41] == pytest.approx(50_000)


def test_margin_at_the_places_that_matter() -> None:
    van = Obstacle("van", 2 * M, 3 * M, loss=9.0)
    made = link_plan(a_radio(obstacles=(van,), fade_margin=30.0), TRAVEL)
    assert made.closed.margin > made.open.margin > made.worst.margin
    assert made.worst.x == pytest.approx(3 * M)
    assert made.worst.shadows[0].name == "van"
    assert [one.loss for one in made.shadows] == [9.0]
    assert made.is_short
    assert not replace(made, fade_margin=made.worst.margin).is_short
    assert (made.loss_closed, made.loss_open) == (0, 0)


def test_loss_is_that_of_the_place_and_the_worst_bounds_it() -> None:
    weak = a_radio(transmit_power=-45.0, losses=(LossPoint(0, 0.6), LossPoint(12, 0.0)))
    made = nuisance(with_node(radio=weak))
    assert 0 < made.in_a_move < made.in_a_move_at_worst <= 1
    assert made.a_day_in_motion == pytest.approx(60 * made.in_a_move)
    assert made.loss_in_motion >= made.loss_at_rest > 0
    # At one loss all the way both are the same.
    flat = replace(weak, losses=(LossPoint(0, 0.2), LossPoint(1, 0.2)))
    even = nuisance(with_node(radio=flat))
    assert even.in_a_move == pytest.approx(even.in_a_move_at_worst)
    frames = max(len(leaf_at_check_ins(a_site(), a_transmitter(), way)) for way in Direction)
    assert even.in_a_move == pytest.approx(trip_by(Path(0.2), 3, frames))


def test_plain_loss_gives_the_plain_sums() -> None:
    site = with_node(loss=0.05)
    made, misses = nuisance(site), misses_at_rest(site.transmitters[0], site.receiver)  # type: ignore[arg-type]
    assert misses.losses_to_trip == 3
    assert made.loss_at_rest == made.loss_in_motion == pytest.approx(0.05)
    assert made.a_day_at_rest == pytest.approx(false_lost_links_a_day(misses, 0.05))
    assert made.frames_to_trip_at_rest == pytest.approx((1 - 0.05**3) / (0.95 * 0.05**3))
    assert made.in_a_day_at_rest == pytest.approx(trip_by(Path(0.05), 3, DAY // (20 * S)))


def test_causes_of_loss_go_together_and_bursts_in_time_know_the_period() -> None:
    node = a_transmitter(loss=0.1, bursts=Bursts(loss_in_good=0.0, loss_in_bad=0.5, mean_good=9 * S, mean_bad=S))
    close, far = path_of(node, 0.2, 1_000), path_of(node, 0.2, 1_000 * S)
    assert close.loss_in_good == pytest.approx(1 - 0.9 * 0.8)
    assert close.loss_in_bad == pytest.approx(1 - 0.9 * 0.8 * 0.5)
    assert close.worse + close.better == pytest.approx(1_000 * (1 / 9 + 1) / S, rel=1e-3)
    assert far.worse == pytest.approx(0.1)
    assert far.better == pytest.approx(0.9)
    assert close.share_bad == pytest.approx(far.share_bad) == pytest.approx(0.1)


def test_no_loss_no_nuisance_and_a_short_watchdog_always() -> None:
    made = nuisance(a_site())
    assert (made.a_day_at_rest, made.in_a_day_at_rest, made.in_a_move, made.frames_to_trip_at_rest) == (0, 0, 0, None)
    short = nuisance(with_node(checkin_in_motion=950_000, loss=0.01))
    assert short.in_a_move == 1


@pytest.mark.parametrize(("bad", "said"), [
    (with_node(radio=a_radio(fade_margin=60.0)), "the margin falls to"),
    (with_node(radio_rule=RadioRule.PERIODIC), "come more often than 47 CFR 15.231(e)"),
    (with_node(radio_rule=RadioRule.OWN, own_rule=OwnRule("a paper", 200_000)), "0.2 s of the site's own"),
    (with_node(radio_rule=RadioRule.OWN, own_rule=OwnRule("a paper", 30_000, 10 * S)), "in 10 s is over the 0.03 s"),
    (with_node(radio=a_radio(losses=(LossPoint(0, 0.1), LossPoint(90, 0.1))), checkin_in_motion=800_000),
     "not one check-in may be lost"),
    (with_node(bursts=Bursts(mean_good=600 * S, mean_bad=60 * S)), "links a day are taken for lost"),
])
def test_what_does_not_agree_is_counted_and_said(bad: Site, said: str) -> None:
    made = plan(bad)
    assert any(said in gap for gap in made.gaps), made.gaps
    assert made.missing == len(made.gaps) > 0
    assert "DOES NOT AGREE" in plan_text(made)


def test_a_rule_that_is_kept_says_what_it_would_allow() -> None:
    made = rule_plan(a_transmitter(radio_rule=RadioRule.ACTIVATED))
    assert made is not None
    assert made.breaches == ()
    # 2 s an hour: 11.1 ms every 20 s, 0.139 ms every 250 ms, a frame of 1 ms every 1.8 s.
    assert made.longest_at_rest == pytest.approx(11_111, abs=1)
    assert made.longest_in_motion == pytest.approx(138.9, abs=0.1)
    assert made.least_period == pytest.approx(1_800_000)
    assert rule_plan(a_transmitter()) is None


def test_clock_errors_and_jitter_that_adds_up_take_losses_away() -> None:
    site = a_site()
    assert site.receiver is not None
    receiver = replace(site.receiver, watchdog_in_motion=3 * 250_000 + 10_000 + 16_000)
    node = site.transmitters[0]
    assert misses_in_motion(node, receiver).losses_to_trip == 3
    assert misses_in_motion(replace(node, clock=Clock(20e-6)), receiver).losses_to_trip == 2
    assert misses_in_motion(node, replace(receiver, clock=Clock(-20e-6))).losses_to_trip == 2
    assert misses_in_motion(replace(node, jitter_reading=JitterReading.ADDS_UP), receiver).losses_to_trip == 2
    slow = replace(node, clock=Clock(0.05))
    assert [line.us for line in detection(slow, 3)[:2]] == [10_500, 21_000]
    assert changeover(replace(node, clock=Clock(100e-6))) == changeover(node) + 2_025


def test_the_text_shows_the_air_and_fits_the_page() -> None:
    node = a_transmitter(
        "front node", radio=a_radio(ground_reflection=1.0, transmit_power=-40.0, obstacles=(
            Obstacle("gate post", 0, 4 * M, gap=0.4 * M, from_receiver=2 * M),
            Obstacle("van", 2 * M, 3 * M, height=2.5 * M, from_receiver=2 * M),
            Obstacle("leaf", 0, 4.6 * M, loss=3.0)), interference=(Interference("barrier", 0, S, 6.0, 20 * S),)),
        loss=0.01, clock=Clock(50e-6), radio_rule=RadioRule.ACTIVATED, bursts=Bursts(mean_good=60 * S, mean_bad=S))
    site = a_site(transmitters=(node, a_transmitter("rear node", identity=102)))
    text = plan_text(plan(site))
    assert max(len(line) for line in text.splitlines()) <= COLUMNS
    assert text.isascii()
    flat = " ".join(text[text.index("Transmitter front node"):text.index("Transmitter rear node")].split())
    for part in ("rule set", "link budget", "nuisance", "clocks", "gate post: stays 0.40 m clear", "van: reaches",
                 "leaf: takes 3.0 dB, as stated", "Calculated, not measured", "off by up to 50 ppm",
                 "barrier, 1.00 s every 20.00 s: least margin"):
        assert part in flat, part
    plain = text[text.index("Transmitter rear node"):]
    assert "link budget" not in plain
    assert "nuisance" not in plain
    made = as_json(plan(site))["radios"][0]
    assert made["link"]["worst"]["margin"] < made["link"]["closed"]["margin"]
    assert made["rule"]["name"] == "47 CFR 15.231(a)"


def test_jitter_that_adds_up_is_said() -> None:
    adding = a_site(transmitters=tuple(a_transmitter(name, identity=k, jitter_reading=JitterReading.ADDS_UP)
                                       for k, name in enumerate(("front node", "rear node"))))
    flat = " ".join(plan_text(plan(adding)).split())
    assert "late and adding up" in flat
    assert "in motion 900.0 ms >= 3 x (250.0 ms + 10.0 ms) + 16.0 ms" in flat
    assert "in motion 900.0 ms >= 3 x 250.0 ms + 10.0 ms + 16.0 ms" in " ".join(plan_text(plan(a_site())).split())


def test_the_sheet_asks_for_the_levels_where_there_is_a_link_budget() -> None:
    van = Obstacle("van", 2 * M, 3 * M, loss=9.0)
    rows = [step for step in plan(with_node(radio=a_radio(obstacles=(van,)))).steps if "level of its frames" in step.do]
    assert [row.device for row in rows] == ["front node"]
    assert rows[0].group.startswith("D")
    # Closed: -20 dBm less 35.6 dB; with the van -20 - 41.0 - 9; open -20 - 44.0.
    assert "-56 dBm at 0 mm, -70 dBm at 3000 mm, -63 dBm at 4600 mm" in rows[0].expect
    assert not any("level of its frames" in step.do for step in plan(a_site()).steps)
