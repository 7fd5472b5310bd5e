"""The loss tree on the receiver's watchdog alone, against closed forms and an independent chain, in exact fractions.

Sources: de Moivre's problem of runs (Uspensky, Introduction to Mathematical Probability, 1937; from memory); the mean
from Feller, An Introduction to Probability Theory I, chapter XIII (from memory); the two-state path from Gilbert 1960
and Elliott 1963 (from memory).  Two figures were computed with a probabilistic model checker in rational arithmetic.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from fractions import Fraction
from math import comb, exp
from pathlib import Path
from typing import Any

import pytest

from gatesim.errors import ModelError
from gatesim.events import FrameSent, ReportChanged
from gatesim.plant import wires
from gatesim.plant.given import Given
from gatesim.plant.radio_tables import Bursts
from gatesim.plant.world import Plant, World
from gatesim.run import Course
from gatesim.search.ground import nothing
from gatesim.search.loss_tree import ALL, NONE, Channel, HeardPath, Tree, Weighed, channels_of, without_loss

sys.path.insert(0, str(Path(__file__).parents[1] / "plant"))

from edge_bench import MS, NODE, parts, plant, site

PERIOD = 1000 * MS
HALF, PERCENT = Fraction(1, 2), Fraction(1, 100)


class TripWatch:
    """How many frames were sent until the report is no longer fresh."""

    def __init__(self, wanted: int, sent: int = 0) -> None:
        self.wanted, self.sent, self.trips = wanted, sent, 0

    def sees(self, course: Course, now: float, happened: list[Any]) -> int | None:
        self.sent += sum(type(event) is FrameSent for event in happened)
        if any(type(event) is ReportChanged and not event.fresh for event in happened):
            return self.sent
        return 0 if self.sent > self.wanted else None  # the frame after the last one that counts

    def ends(self, course: Course) -> int:
        raise AssertionError("the story is long enough")

    def copy(self, course: Course) -> TripWatch:
        return TripWatch(self.wanted, self.sent)

    def facts(self) -> int:
        return self.sent


def bench(k: int, **node: Any) -> Plant:
    """A transmitter with a frame each second, its path, and a receiver whose watchdog trips at k losses in a row."""
    return without_loss(plant(site(node={"checkin_at_rest": PERIOD, "event_repeats": 1, **node},
                      receiver={"watchdog_at_rest": k * PERIOD + PERIOD // 2})))


def weighed(made: Plant, channel: Channel, frames: int, least: Fraction = NONE, seed: int = 1, **tree: Any) -> Weighed:
    """Trips over so many frames after one that is heard."""
    course = Course(made, World(made, seed), (), 10_000 * PERIOD, None, nothing)
    while course.next() < PERIOD // 2:
        course.live(course.next())
    return Tree(made, {"tx": channel}, least, **tree).explore(course, TripWatch(frames))


def tripped(found: Weighed, by: int) -> Fraction:
    return sum((chance for frames, chance in found.outcomes.items() if 0 < frames <= by), NONE)


def recursion(p: Fraction, k: int, n: int) -> Fraction:
    """P(k losses in a row within n frames): R(i) = R(i-1) - q p^k R(i-k-1)."""
    none = [ALL] * k + [1 - p**k]
    for i in range(k + 1, n + 1):
        none.append(none[-1] - (1 - p) * p**k * none[i - k - 1])
    return 1 - none[n]


def de_moivre(p: Fraction, k: int, n: int) -> Fraction:
    def b(m: int) -> Fraction:
        return sum(((-1) ** i * comb(m - i * k, i) * ((1 - p) * p**k) ** i for i in range(m // (k + 1) + 1)), NONE)

    return 1 - (b(n) - p**k * b(n - k))


def chain(channel: Channel, k: int, n: int) -> Fraction:
    """The same from the chain of (state, losses in a row), written anew."""
    at = {(bad, 0): chance for bad, chance in channel.first()}
    trip = NONE
    for _ in range(n):
        then: dict[tuple[bool, int], Fraction] = {}
        for (bad, row), mass in at.items():
            turn = channel.better if bad else channel.worse
            for state, chance in ((bad, 1 - turn), (not bad, turn)):
                loss = channel.loss_in_bad if state else channel.loss
                then[state, 0] = then.get((state, 0), NONE) + mass * chance * (1 - loss)
                if row + 1 == k:
                    trip += mass * chance * loss
                else:
                    then[state, row + 1] = then.get((state, row + 1), NONE) + mass * chance * loss
        at = then
    return trip


@pytest.mark.parametrize(("p", "k", "n"), [(2 * PERCENT, 3, 100), (HALF, 2, 30), (PERCENT / 10, 5, 40)])
def test_independent_loss_is_de_moivres_problem(p, k, n) -> None:
    found = weighed(bench(k), Channel(p), n)
    assert sum(found.outcomes.values()) == 1
    assert found.unaccounted == 0
    for by in (k - 1, k, k + 1, n // 2, n):
        assert tripped(found, by) == recursion(p, k, by) == de_moivre(p, k, by)


def test_the_published_figures_of_independent_loss() -> None:
    # Computed apart from this project, with exact rationals: p = 2 %, k = 3.
    found = weighed(bench(3), Channel(2 * PERCENT), 100)
    assert float(tripped(found, 10)) == pytest.approx(6.28793803264e-5, rel=1e-11)
    assert float(tripped(found, 100)) == pytest.approx(7.682054987e-4, rel=1e-9)


def test_a_chance_that_floats_lose() -> None:
    """1 - R(n) is 0.0 in floats here; the fraction is not."""
    p, k = PERCENT / 10, 6
    found = tripped(weighed(bench(k), Channel(p), 60), 60)
    assert found == recursion(p, k, 60)
    assert 0 < found < Fraction(1, 10**15)


BURSTS = [
    Channel(NONE, PERCENT, Fraction(1, 10), ALL, NONE),
    Channel(PERCENT / 10, PERCENT, Fraction(1, 10), HALF, NONE),
    Channel(PERCENT / 10, PERCENT, Fraction(1, 10), HALF),
]


@pytest.mark.parametrize("channel", BURSTS)
@pytest.mark.parametrize("k", [2, 3])
def test_bursts_are_the_chain_of_gilbert_and_elliott(channel, k) -> None:
    found = weighed(bench(k), channel, 40)
    for by in (k, 10, 40):
        assert tripped(found, by) == chain(channel, k, by)


def mean(channel: Channel, k: int, n: int) -> Fraction:
    """Frames to a trip, from the tree: the tail beyond n goes on with its own steady rate."""
    found = weighed(bench(k), channel, n)
    none = [1 - tripped(found, by) for by in range(n + 1)]
    rate = none[n] / none[n - 1]
    return sum(none[:n], NONE) + none[n] / (1 - rate)


@pytest.mark.slow
def test_the_mean_of_bursts_is_that_of_the_model_checker() -> None:
    # 2177240628317000/8111651800909 by a probabilistic model checker in rational arithmetic.
    assert float(mean(BURSTS[1], 3, 200)) == pytest.approx(268.409034529, rel=1e-9)
    # Simple Gilbert: (1/a + (1 - s^(k-1))/r) / s^(k-1).
    a, r, k = PERCENT, Fraction(1, 10), 3
    s = 1 - r
    assert float(mean(BURSTS[0], k, 200)) == pytest.approx(float((1 / a + (1 - s ** (k - 1)) / r) / s ** (k - 1)), 1e-9)


def test_the_mean_loss_of_bursts() -> None:
    assert BURSTS[1].mean == (PERCENT * HALF + Fraction(1, 10) * PERCENT / 10) / (PERCENT + Fraction(1, 10))
    assert Channel(PERCENT).mean == PERCENT


def test_equal_worlds_become_one() -> None:
    """Two hundred frames have 2^200 stories, and the tree a branch for each run of losses."""
    found = weighed(bench(3), Channel(PERCENT), 200)
    assert found.frames <= 200 * 3 + 3
    assert found.joined > 300


@pytest.mark.parametrize("node", [{"latency_spread": 5 * MS}, {"checkin_jitter": 20 * MS, "latency_spread": 3 * MS}])
def test_drawn_delays_do_not_keep_worlds_apart(node) -> None:
    found = weighed(bench(3, **node), Channel(PERCENT), 50)
    assert tripped(found, 50) == recursion(PERCENT, 3, 50)
    assert found.frames <= 50 * 3 + 3


def test_bursts_in_time_keep_their_memory_from_frame_to_frame() -> None:
    """A chance of bad after a gap t: share + (was - share) e^-(1/good + 1/bad)t, in floats beside."""
    bursts = Bursts(loss_in_good=0.01, loss_in_bad=0.8, mean_good=20 * PERIOD, mean_bad=2 * PERIOD)
    channel = channels_of(site(node={"bursts": bursts}))["tx"]
    share, kept, k, n = 2 / 22, exp(-(1 / 20 + 1 / 2)), 3, 40
    at, trip = {(0, 0): 1 - share, (1, 0): share}, 0.0
    for _ in range(n):
        then: dict[tuple[int, int], float] = {}
        for (bad, row), mass in at.items():
            is_bad = share + (bad - share) * kept
            for state, chance, loss in ((0, 1 - is_bad, 0.01), (1, is_bad, 0.8)):
                then[state, 0] = then.get((state, 0), 0.0) + mass * chance * (1 - loss)
                if row + 1 == k:
                    trip += mass * chance * loss
                else:
                    then[state, row + 1] = then.get((state, row + 1), 0.0) + mass * chance * loss
        at = then
    for least in (NONE, Fraction(1, 10**20)):
        found = weighed(bench(k), channel, n, least)
        assert float(tripped(found, n)) == pytest.approx(trip, rel=1e-9)
        assert abs(sum(found.outcomes.values()) + found.unaccounted - 1) < Fraction(1, 10**20)


def test_a_link_budget_loses_on_top() -> None:
    class Quarter:
        def loss_at(self, x: float, now: float, taken: float) -> float:
            assert (x, taken) == (0.0, 0.0)
            return 0.25

    table = site(node={"checkin_at_rest": PERIOD, "event_repeats": 1}, receiver={"watchdog_at_rest": 5 * PERIOD // 2})
    made = without_loss(Plant([*parts(table), Given(wires.MarginTaken("tx"), 0.0, "tx")]))
    found = weighed(made, Channel(HALF, link=Quarter()), 20)  # type: ignore[arg-type]
    assert tripped(found, 20) == recursion(1 - HALF * Fraction(3, 4), 2, 20)


def test_what_is_left_out_is_summed() -> None:
    channel = Channel(PERCENT)
    whole, cut = weighed(bench(3), channel, 30), weighed(bench(3), channel, 30, least=Fraction(1, 2000))
    assert cut.unaccounted > 0
    assert sum(cut.outcomes.values()) + cut.unaccounted == 1
    assert tripped(cut, 30) <= tripped(whole, 30) <= tripped(cut, 30) + cut.unaccounted


def test_time_that_is_up_is_summed() -> None:
    left = iter([True] * 40)
    found = weighed(bench(3), Channel(PERCENT), 30, more=lambda: next(left, False))
    assert found.unaccounted > 0
    assert sum(found.outcomes.values()) + found.unaccounted == 1


def test_certain_loss_and_none() -> None:
    assert weighed(bench(2), Channel(ALL), 10).outcomes == {2: 1}
    assert weighed(bench(2), Channel(NONE), 10).outcomes == {0: 1}


def test_two_transmitters_are_lost_each_for_itself() -> None:
    """The first of the two to trip: the chance that neither has is the product."""
    table = site(node={"checkin_at_rest": PERIOD, "event_repeats": 1},
                 receiver={"watchdog_at_rest": 2 * PERIOD + PERIOD // 2, "pairs": ("tx", "other")})
    other = replace(table.transmitters[0], name="other", identity=8, checkin_phase=300 * MS)
    edge = replace(table.edges[0], name="second", input="other")
    table = replace(table, transmitters=(*table.transmitters, other), edges=(*table.edges, edge))
    made = without_loss(Plant(parts(table)))
    course = Course(made, World(made, 1), (), 12 * PERIOD, None, nothing)
    while course.next() < PERIOD // 2:
        course.live(course.next())

    class First(TripWatch):
        def sees(self, course: Course, now: float, happened: list[Any]) -> str | None:
            stale = any(type(one) is ReportChanged and one.heard and not one.fresh for one in happened)
            return "trip" if stale else None

        def ends(self, course: Course) -> str:
            return "none"

        def copy(self, course: Course) -> First:
            return First(0)

    p = Fraction(1, 5)
    found = Tree(made, {"tx": Channel(p), "other": Channel(p / 2)}).explore(course, First(0))
    # Of the frames at 1 to 12 s the twelfth may be lost, but its watchdog runs on beyond the end; "other" sends 11.
    assert found.outcomes["none"] == (1 - recursion(p, 2, 11)) * (1 - recursion(p / 2, 2, 11))


def test_a_site_gives_its_loss_and_loses_it() -> None:
    table = site(node={"loss": 0.05})
    assert channels_of(table) == {"tx": Channel(5 * PERCENT)}
    paths = [part for part in without_loss(plant(table)).parts if isinstance(part, HeardPath)]
    assert [(part.name, part.loss, part.latency) for part in paths] == [("tx", 0.0, NODE.latency)]
    with pytest.raises(ModelError, match="draws its losses"):
        Tree(plant(table), channels_of(table))
