"""Air time, check-ins and lost links against the law's figure and closed forms."""

from __future__ import annotations

from dataclasses import replace

import pytest
from field_site import S, a_drive, a_site, a_transmitter

from gatesim.errors import BadUsage
from gatesim.events import Direction
from gatesim.field.air_time import (
    Misses,
    changeover,
    false_lost_links_a_day,
    frames_an_hour,
    learns_start,
    longest_frame,
    travel_time,
)
from gatesim.plant.site import LearnsMotion, Monitoring


def test_longest_supervision_messages() -> None:
    # 47 CFR 15.231(a)(3): 2 s an hour; so 5.556 ms every 10 s and 33.33 ms every 60 s (calculated from it).
    assert longest_frame(10 * S) == pytest.approx(5_556, abs=0.5)
    assert longest_frame(60 * S) == pytest.approx(33_333, abs=0.5)
    # Once a second: 0.56 ms.
    assert longest_frame(S) == pytest.approx(560, abs=5)


def test_travel_time_by_hand() -> None:
    # 4.6 m at 0.2 m/s, slow zone 0.35 m at 0.08 m/s, 0.5 and 0.4 m/s2: 0.4 s and 40 mm to speed up; 0.3 s and 42 mm
    # to slow; 4.168 m at 0.2 m/s = 20.84 s; 0.35 m at 0.08 m/s = 4.375 s.  Sum 25.915 s.
    assert travel_time(a_site(), Direction.CLOSING) == pytest.approx(25_915_000, abs=1)


def test_frames_add_up() -> None:
    site = a_site(drive=a_drive(speed_opening=0.2))
    node = site.transmitters[0]
    frames = frames_an_hour(site, node, 10)
    moving = 10 * 25.915
    assert frames.in_motion == pytest.approx(moving / 0.25)
    assert frames.at_rest == pytest.approx((3_600 - moving) / 20)
    assert (frames.at_starts, frames.answers) == (10, 10)
    assert frames_an_hour(site, replace(node, monitoring=Monitoring.CONTINUOUSLY), 10).answers == 0
    assert frames_an_hour(site, node, 0).total == pytest.approx(180)


@pytest.mark.parametrize("moves", [-1, 200])
def test_moves_that_do_not_fit_are_refused(moves: int) -> None:
    site = a_site()
    with pytest.raises(BadUsage, match="moves an hour"):
        frames_an_hour(site, site.transmitters[0], moves)


@pytest.mark.parametrize(("watchdog", "k"), [(3_070, 3), (3_069, 2), (1_069, 0), (1_070, 1)])
def test_bound_of_no_nuisance_trip(watchdog: int, k: int) -> None:
    # T >= k P + J + D on an absolute grid: P 1000, J 50, D 20: 3070 holds for three, 3069 does not (SMT solver).
    misses = Misses(watchdog, period=1_000, jitter=50, delay=20)
    assert misses.losses_to_trip == k
    assert misses.tolerated == k - 1


@pytest.mark.parametrize(("loss", "k", "days"), [(0.01, 3, 117), (0.05, 3, 0.98), (0.05, 5, 390), (0.10, 3, 0.13)])
def test_mean_time_to_a_false_lost_link(loss: float, k: int, days: float) -> None:
    # (1 - p^k) / (q p^k) check-ins, one every 10 s: table of the closed form (Feller), calculated twice.
    misses = Misses(watchdog=k * 10 * S, period=10 * S, jitter=0, delay=0)
    assert 1 / false_lost_links_a_day(misses, loss) == pytest.approx(days, rel=0.03)


def test_no_loss_no_false_alarm_and_a_short_watchdog_always() -> None:
    assert false_lost_links_a_day(Misses(30, 10, 0, 0), 0.0) == 0
    assert false_lost_links_a_day(Misses(5, 10, 0, 0), 0.0) == 86_400_000_000 / 10


def test_start_and_end_of_a_move() -> None:
    site = a_site()
    node = a_transmitter()
    # Told: 12 ms down, 12 + 4 ms up.  Felt: 60 ms start delay, 100 ms to feel, 16 ms up.
    assert learns_start(site, node) == 28_000
    assert learns_start(site, replace(node, learns_motion=LearnsMotion.FELT)) == 176_000
    assert changeover(node) == 250_000 + 20 * S + 10_000 + 16_000
