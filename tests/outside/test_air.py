"""The air against closed forms, scipy and numpy: nuisance trips, a Monte-Carlo run of the product's own radio path,
propagation.

Figures "calculated" were worked out apart from the product, those of Gilbert and Elliott with a probabilistic model
checker in exact rationals as well.  Published figures with their clause stand in `published_figures.py`.
"""

from __future__ import annotations

import cmath
import math
import sys
from dataclasses import replace
from fractions import Fraction
from functools import cache
from pathlib import Path as FilePath

import numpy
import pytest
from scipy import constants, integrate, linalg, optimize, special, stats

from gatesim.events import Command, Direction, Event, ReportChanged
from gatesim.field.air import path_of
from gatesim.field.air_time import Misses, false_lost_links_a_day, leaf_at_check_ins
from gatesim.field.nuisance import Path, exact_frames_to_trip, frames_to_trip, trip_by, tripped
from gatesim.plant.build import build
from gatesim.plant.burst_state import chain_of
from gatesim.plant.link_budget import (
    LIGHT,
    Link,
    free_space_loss,
    fresnel_radius,
    ground_gain,
    knife_edge_loss,
    link_of,
)
from gatesim.plant.logic.classifier_reference import ReferenceClassifier
from gatesim.plant.logic.contract import Roles
from gatesim.plant.logic.controller_reference import ReferenceController
from gatesim.plant.logic.receiver_reference import ReferenceReceiver
from gatesim.plant.motion import rest
from gatesim.plant.radio_tables import Bursts
from gatesim.plant.site import Site
from gatesim.plant.world import World
from gatesim.run import Course
from gatesim.scenario import model as m
from gatesim.scenario.agenda import agenda

sys.path.insert(0, str(FilePath(__file__).parent.parent / "plant"))
sys.path.insert(0, str(FilePath(__file__).parent))

import published_runs as runs
from air_bench import Air

S = 1_000_000
BURSTY = Path(Fraction(1, 1000), Fraction(1, 100), Fraction(1, 10), Fraction(1, 2))


# --- nuisance trips, each frame for itself -------------------------------------------------------------------------


@pytest.mark.parametrize(("frames", "chance"), [(10, 6.28793803264e-5), (100, 7.682054987e-4), (1000, 7.794161113e-3)])
def test_chance_of_a_trip_by_so_many_frames(frames: int, chance: float) -> None:
    assert trip_by(Path(0.02), 3, frames) == pytest.approx(chance, rel=1e-9)


def test_the_sum_of_de_moivre_and_uspensky_in_exact_rationals() -> None:
    """1 - [b(n) - p^k b(n - k)], b(m) = sum (-1)^l C(m - l k, l) (q p^k)^l."""
    p, k = Fraction(1, 20), 3
    q = 1 - p

    def b(m: int) -> Fraction:
        terms = [(-1) ** i * math.comb(m - i * k, i) * (q * p**k) ** i for i in range(m // (k + 1) + 1)]
        return sum(terms, Fraction(0))

    for frames in (3, 4, 10, 57, 200):
        assert trip_by(Path(p), k, frames) == 1 - (b(frames) - p**k * b(frames - k))


def test_fellers_root_gives_the_tail() -> None:
    """P(no trip by n) ~ (1 - p x) / ((k + 1 - k x) q) x^-(n+1), x > 1 the root of 1 - x + q p^k x^(k+1)."""
    p, k, frames = 0.2, 3, 500
    q = 1 - p
    x = optimize.brentq(lambda x: 1 - x + q * p**k * x ** (k + 1), 1 + 1e-9, 1.2, xtol=1e-15)
    tail = (1 - p * x) / ((k + 1 - k * x) * q) * x ** -(frames + 1)
    assert 1 - trip_by(Path(p), k, frames) == pytest.approx(tail, rel=1e-10)


DAY_TABLE = (
    (0.001, (8.59e-3, 8.63e-6, 8.63e-9, 8.63e-12)), (0.01, (0.575, 8.52e-3, 8.55e-5, 8.55e-7)),
    (0.05, (1.0, 0.642, 5.00e-2, 2.56e-3)), (0.10, (1.0, 0.9996, 0.541, 7.48e-2)))


@pytest.mark.parametrize(("loss", "chances"), DAY_TABLE)
def test_the_table_of_nuisance_trips_in_a_day(loss: float, chances: tuple[float, ...]) -> None:
    """One check-in every 10 s, k = 2 to 5; three digits, as the table has them."""
    for k, chance in enumerate(chances, 2):
        assert trip_by(Path(loss), k, 8640) == pytest.approx(chance, rel=6e-3)


@pytest.mark.parametrize(("loss", "k", "days"), [(0.001, 3, 1.16e5), (0.001, 5, 1.16e11), (0.01, 3, 117),
                                                 (0.01, 5, 1.17e6), (0.05, 3, 0.98), (0.05, 5, 390), (0.10, 3, 0.13),
                                                 (0.10, 5, 12.9)])
def test_mean_days_to_a_nuisance_trip(loss: float, k: int, days: float) -> None:
    found = 1 / false_lost_links_a_day(Misses(k * 10 * S, 10 * S, 0, 0), loss)
    assert found == pytest.approx(days, rel=0.02)


# --- bursts --------------------------------------------------------------------------------------------------------


def matrix(path: Path, k: int) -> numpy.ndarray:
    """The (2k)-state chain "state, lost in a row so far" as numpy has it."""
    step = numpy.array([[1 - path.worse, path.worse], [path.better, 1 - path.better]], dtype=float)
    loss = (float(path.loss_in_good), float(path.loss_in_bad))
    found = numpy.zeros((2 * k, 2 * k))
    for before in (0, 1):
        for row in range(k):
            for after in (0, 1):
                found[2 * row + before, after] += step[before, after] * (1 - loss[after])
                if row + 1 < k:
                    found[2 * row + before, 2 * (row + 1) + after] += step[before, after] * loss[after]
    return found


def test_the_exact_rational_of_a_model_checker() -> None:
    assert frames_to_trip(BURSTY, 3) == Fraction(2177240628317000, 8111651800909)
    assert exact_frames_to_trip(BURSTY, 3) == pytest.approx(268.409034529, abs=5e-10)


@pytest.mark.parametrize("k", [1, 2, 3, 5, 8])
def test_numpy_solves_the_same_chain(k: int) -> None:
    stay = matrix(BURSTY, k)
    expected = linalg.solve(numpy.eye(2 * k) - stay, numpy.ones(2 * k))[0]
    assert exact_frames_to_trip(BURSTY, k) == pytest.approx(expected, rel=1e-8)
    still = numpy.linalg.matrix_power(stay, 300)[0].sum()
    assert float(trip_by(BURSTY, k, 300)) == pytest.approx(1 - still, rel=1e-9)


@pytest.mark.parametrize(("k", "frames"), [(2, 112.222), (3, 125.802), (5, 157.657)])
def test_simple_bursts(k: int, frames: float) -> None:
    """a = 0.01, r = 0.1, every frame of a burst lost."""
    assert exact_frames_to_trip(Path(0.0, 0.01, 0.1, 1.0), k) == pytest.approx(frames, abs=1e-3)


def test_independent_losses_would_be_39_times_too_hopeful() -> None:
    even = exact_frames_to_trip(Path(BURSTY.mean_loss), 3)
    assert float(BURSTY.mean_loss) == pytest.approx(0.04636, abs=1e-5)
    assert even == pytest.approx(10_520.6, abs=0.1)
    assert even / (exact_frames_to_trip(BURSTY, 3) or 0) == pytest.approx(39.2, abs=0.05)


def test_gilberts_set() -> None:
    """P = 0.03, p = 0.25, h = 0.5 (Gilbert 1960, from memory): 0.107143 bad, 0.0535714 wrong."""
    path = Path(0.0, 0.03, 0.25, 0.5)
    assert path.share_bad == pytest.approx(0.107143, abs=5e-7)
    assert path.mean_loss == pytest.approx(0.0535714, abs=5e-8)


@pytest.mark.parametrize("gap", [1_000, 15_000, 250_000, 5 * S])
def test_bursts_in_time_against_the_matrix_exponential(gap: int) -> None:
    good, bad = 4 * S, 300_000
    chain = chain_of(Bursts(mean_good=good, mean_bad=bad))
    moved = linalg.expm(numpy.array([[-1 / good, 1 / good], [1 / bad, -1 / bad]]) * gap)
    assert chain.chance_of_bad(False, gap) == pytest.approx(moved[0, 1], abs=1e-11)
    assert chain.chance_of_bad(True, gap) == pytest.approx(moved[1, 1], abs=1e-11)


def test_loss_along_a_travel_against_a_product_of_matrices() -> None:
    losses = [0.01 + 0.5 * k / 120 for k in range(120)]
    stay = numpy.array([1.0, 0.0, 0.0])
    for loss in losses:
        stay = stay @ numpy.array([[1 - loss, loss, 0], [1 - loss, 0, loss], [1 - loss, 0, 0]])
    assert tripped([(loss, 1.0) for loss in losses], 3) == pytest.approx(1 - stay.sum(), rel=1e-12)


# --- the product's own radio path, drawn --------------------------------------------------------------------------


def clopper_pearson(hits: int, of: int, confidence: float = 0.999) -> tuple[float, float]:
    a = (1 - confidence) / 2
    low = 0.0 if hits == 0 else stats.beta.ppf(a, hits, of - hits + 1)
    high = 1.0 if hits == of else stats.beta.ppf(1 - a, hits + 1, of - hits)
    return float(low), float(high)


def test_the_interval_is_that_of_scipy_and_of_the_tables() -> None:
    ours = clopper_pearson(7, 300, 0.95)
    theirs = stats.binomtest(7, 300).proportion_ci(0.95, method="exact")
    assert ours == pytest.approx((theirs.low, theirs.high))
    assert clopper_pearson(0, 300, 0.95)[1] == pytest.approx(0.01222, abs=5e-6)


LINK = Link(4e6, (20.0, 0.0), ((0.0, 0.5), (10.0, 0.1), (20.0, 0.0)), ())
CASES = {
    "plain": ({"loss": 0.2}, Path(0.2)),
    "link budget half way along": ({"link": LINK, "motion": rest(0.0, 3e6)}, Path(0.3)),
    "bursts by the frame": (
        {"bursts": chain_of(Bursts(loss_in_good=0.001, loss_in_bad=0.5, good_to_bad=0.01, bad_to_good=0.1))}, BURSTY),
    "bursts in time, and a plain loss": (
        {"loss": 0.05, "period": 250_000, "bursts": chain_of(Bursts(mean_good=8 * S, mean_bad=S))},
        Path(0.05, 1 / 9 * (1 - math.exp(-0.25 * 9 / 8)), 8 / 9 * (1 - math.exp(-0.25 * 9 / 8)), 1.0)),
}


@cache
def drawn(name: str, runs: int, within: int) -> int:
    """How many of so many runs lose three frames in a row within so many; each run has a seed of its own."""
    return sum(Air(**CASES[name][0], seed=seed).frames_to_trip(3, within) <= within  # type: ignore[arg-type]
               for seed in range(1, runs + 1))


@pytest.mark.parametrize("name", CASES)
def test_the_drawn_path_trips_as_often_as_the_closed_form_says(name: str) -> None:
    """2000 runs of 100 frames, fixed seeds: the closed form lies in the 99.9 % interval (Clopper and Pearson)."""
    chance = float(trip_by(CASES[name][1], 3, 100))
    low, high = clopper_pearson(drawn(name, 2000, 100), 2000)
    assert low <= chance <= high, (low, chance, high)
    assert high - low < 0.08


def test_a_wrong_form_is_found() -> None:
    """Losses taken as independent, at the mean of the bursts, lie far outside."""
    low, _ = clopper_pearson(drawn("bursts by the frame", 2000, 100), 2000)
    assert float(trip_by(Path(BURSTY.mean_loss), 3, 100)) < low / 5


def test_mean_frames_to_a_trip_are_drawn_as_they_are_calculated() -> None:
    """600 runs to the end: the mean of the form within 4 standard errors of the mean drawn."""
    found = [Air(**CASES["bursts by the frame"][0], seed=seed).frames_to_trip(3, 10**6)  # type: ignore[arg-type]
             for seed in range(1, 601)]
    assert abs(numpy.mean(found) - 268.409034529) < 4 * numpy.std(found) / math.sqrt(len(found))


WEAK = -38.0
"""Transmit power (dBm) at which the shipped long gate, opening, loses its link in about one move of four."""


@cache
def weak() -> Site:
    site = runs.site_of("long-acre")
    nodes = []
    for node in site.transmitters:
        assert node.radio is not None
        nodes.append(replace(node, radio=replace(node.radio, transmit_power=WEAK), event_repeats=1))
    return replace(site, transmitters=tuple(nodes))


def trips_in_a_move(at_one_place: bool) -> float:
    """The plan's sum for one opening move: the loss of each place, or (wrongly) that of the closed end all the way."""
    site = weak()
    node = site.transmitters[1]
    assert node.radio is not None
    link = link_of(node.radio, site.gate.travel)
    leaf = leaf_at_check_ins(site, node, Direction.OPENING)
    each = [path_of(node, link.loss_at(0.0 if at_one_place else x, 0), node.checkin_in_motion) for x in leaf]
    losses = [(one.loss_in_good, one.loss_in_bad) for one in each]
    return float(tripped(losses, 3, each[0].worse, each[0].better))


@cache
def moves_tripped(of: int) -> int:
    """In how many of so many runs of the whole plant, each with its seed, the rear link is taken for lost."""
    site = weak()
    plant = build(site, Roles(ReferenceClassifier(), ReferenceReceiver(), ReferenceController(by_library=False)))
    told = m.Scenario("a move", "", site, 42 * S, (runs.command(S, Command.OPEN),), ())
    hits = 0
    for seed in range(of):
        lost: list[float] = []

        def take(_: object, at: float, event: Event, lost: list[float] = lost) -> None:
            if isinstance(event, ReportChanged) and event.edge == "rear edge" and event.heard and not event.fresh:
                lost.append(at)

        for _ in Course(plant, World(plant, seed), agenda(told), told.ends, None, take).play():
            pass
        hits += bool(lost)
    return hits


def test_the_whole_plant_loses_its_link_as_often_as_the_plan_says() -> None:
    """Link budget, bursts, clocks, watchdog and motion together, 120 moves: the sum lies in the 99.9 % interval."""
    low, high = clopper_pearson(moves_tripped(120), 120)
    assert low <= trips_in_a_move(False) <= high, (low, trips_in_a_move(False), high)
    assert trips_in_a_move(True) < low / 10


# --- propagation ---------------------------------------------------------------------------------------------------


def test_the_speed_of_light_is_scipys() -> None:
    assert constants.c == LIGHT


@pytest.mark.parametrize(("mhz", "metres", "decibels"), [(433.92, 30, 54.74), (433.92, 100, 65.20), (315, 100, 62.41),
                                                         (915, 100, 71.68), (868, 30, 60.761)])
def test_free_space(mhz: float, metres: float, decibels: float) -> None:
    assert free_space_loss(mhz * 1e6, metres) == pytest.approx(decibels, abs=0.006)
    # The rounded form of ITU-R P.525 (read) is 0.048 dB lower.
    rounded = 32.4 + 20 * math.log10(mhz) + 20 * math.log10(metres / 1000)
    assert free_space_loss(mhz * 1e6, metres) - rounded == pytest.approx(0.0478, abs=5e-5)


@pytest.mark.parametrize("distance", [3.0, 5.8, 11.0, 18.2, 30.0])
def test_two_rays_against_fields_added_as_they_are(distance: float) -> None:
    """Two fields e^(-j k r) / r, the ground's from the mirror image of the transmitter, with -0.8."""
    up, down, wave = 1.1, 2.4, constants.c / 433.92e6
    direct, mirrored = math.dist((0, up), (distance, down)), math.dist((0, -up), (distance, down))
    field = cmath.exp(-2j * math.pi * direct / wave) / direct
    both = field - 0.8 * cmath.exp(-2j * math.pi * mirrored / wave) / mirrored
    assert ground_gain(433.92e6, distance, up, down, 0.8) == pytest.approx(20 * math.log10(abs(both) / abs(field)))


@pytest.mark.parametrize("part", [0.1, 0.37, 0.5])
def test_the_first_zone_is_where_the_way_is_half_a_wave_longer(part: float) -> None:
    wave, distance = constants.c / 433.92e6, 3_000.0
    near = part * distance
    radius = optimize.brentq(
        lambda r: math.hypot(near, r) + math.hypot(distance - near, r) - distance - wave / 2, 0.1, 100)
    assert fresnel_radius(433.92e6, near, distance - near) == pytest.approx(radius, rel=1e-3)


@pytest.mark.parametrize("nu", [-0.7, -0.3, 0.0, 0.5, 1.0, 2.4, 5.0])
def test_the_knife_edge_against_fresnels_integrals(nu: float) -> None:
    """-20 log10 |(1 + j)/2 times the integral of e^(-j pi t^2 / 2) from nu on|, by scipy; the short form is near."""
    s, c = special.fresnel(nu)
    left = complex(0.5 - c, -(0.5 - s))
    exact = -20 * math.log10(abs((1 + 1j) / 2 * left))
    # By quadrature as well, so that the integrals' own convention is none of ours.
    real = integrate.quad(lambda t: math.cos(math.pi * t * t / 2), 0, nu)[0]
    assert c == pytest.approx(real)
    assert knife_edge_loss(nu) == pytest.approx(exact, abs=0.5)
