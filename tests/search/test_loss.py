"""Lost frames at a shipped site: exact chances against closed forms, and against runs that draw their losses."""

from __future__ import annotations

import sys
from collections import Counter
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from scipy.stats import beta

from gatesim.errors import BadUsage
from gatesim.events import Direction
from gatesim.plant.build import build
from gatesim.plant.faults.catalogue import faults, place
from gatesim.run import Course, default_roles
from gatesim.scenario.read import read_site
from gatesim.search.ground import Phase, nothing
from gatesim.search.loss import CONTACT, EDGE, WHOLE, LossBench, LossRow
from gatesim.search.loss_tree import Channel, channels_of
from gatesim.search.loss_watch import (
    BROKEN_OFF,
    LOCKED,
    REFUSED,
    STARTED,
    UNDISTURBED,
    ContactWatch,
    FaultWatch,
    Found,
    MoveWatch,
    StartWatch,
)
from gatesim.search.probe import PERMANENT, ContactProber, FaultProber

sys.path.insert(0, str(Path(__file__).parent))

from test_loss_tree import chain, recursion

SITES = Path(__file__).parents[2] / "scenarios" / "sites"
SITE = read_site(SITES / "mill-lane.site.yaml")
# No lateness and no spread, so that whoever draws losses draws nothing else.
STEADY = replace(SITE, transmitters=tuple([replace(one, checkin_jitter=0, latency_spread=0)
                                           for one in SITE.transmitters]))
PERCENT = Fraction(1, 100)


def bench(channel: Channel, site: Any = SITE, **more: Any) -> LossBench:
    return LossBench(site, default_roles(), 1, {node.name: channel for node in site.transmitters}, **more)


def chance(row: LossRow, *outcomes: str) -> Fraction:
    return sum((row.outcomes.get(one, Fraction(0)) for one in outcomes), Fraction(0))


@pytest.fixture(scope="module")
def two_percent() -> LossBench:
    return bench(Channel(2 * PERCENT))


@pytest.mark.slow
@pytest.mark.parametrize("channel", [Channel(2 * PERCENT), Channel(PERCENT, PERCENT, Fraction(1, 5))])
def test_nuisances_of_a_move_are_the_closed_form(channel) -> None:
    """Three losses in a row outlast the watchdog (900 ms at 250 ms); each transmitter trips for itself, whoever does so
    first breaks the move off or locks the other direction out."""
    start, move = bench(channel, STEADY, least=Fraction(0)).healthy(Direction.OPENING)
    assert move.unaccounted == 0
    assert sum(move.outcomes.values()) == 1
    ground = bench(channel, STEADY).ground(Direction.OPENING, Phase.TRAVEL)
    period = STEADY.transmitters[0].checkin_in_motion
    about = (ground.last - ground.first) // period
    apart = [1 - (1 - chain(channel, 3, n)) ** 2 for n in (about - 4, about + 1)]
    assert apart[0] <= chance(move, BROKEN_OFF, LOCKED) <= apart[1]
    if channel.worse == 0:
        assert chain(channel, 3, about) == recursion(channel.loss, 3, about)
    assert chance(start, STARTED, REFUSED) == 1


def draws(course: Course, watch: Any, loss: float, tries: int) -> Counter[Found]:
    """The same story with the plant's own radio paths, which draw their losses, from this moment on."""
    plant = build(replace(STEADY, transmitters=tuple([replace(one, loss=loss) for one in STEADY.transmitters])),
                  default_roles())
    found: Counter[Found] = Counter()
    for seed in range(tries):
        assert course.judge is not None
        run = course.copy(course.judge.copy(), nothing)
        run.plant, run.world.seed = plant, seed
        mine = watch(run)
        outcome = None
        while outcome is None and (now := run.next()) <= run.ends:
            outcome = mine.sees(run, now, run.live(now))
        found[mine.ends(run) if outcome is None else outcome] += 1
    return found


def agrees(row: LossRow, drawn: Counter[Found]) -> None:
    """Clopper and Pearson's interval of every outcome and time, at 1 in 100 000, has the exact chance."""
    tries = drawn.total()
    alike: Counter[tuple[Any, ...]] = Counter()
    for one, count in drawn.items():
        alike[one.what, one.measured] += count
    exact: Counter[tuple[Any, ...]] = Counter()
    for one, mass in row.found.items():
        exact[one.what, one.measured] += mass  # type: ignore[assignment]
    assert len(exact) > 1
    for key in {*alike, *exact}:
        count, miss = alike[key], 1e-5
        low = beta.ppf(miss / 2, count, tries - count + 1) if count else 0.0
        high = beta.ppf(1 - miss / 2, count + 1, tries - count) if count < tries else 1.0
        assert low <= exact[key] + 1e-9, key
        assert exact[key] - 1e-9 <= high, key


@pytest.mark.slow
def test_drawn_losses_agree_on_a_start_and_a_move() -> None:
    made = bench(Channel(Fraction(1, 5)), STEADY)
    start, move = made.healthy(Direction.CLOSING)
    ground = made.ground(Direction.CLOSING, Phase.TRAVEL)
    agrees(move, draws(made.before(ground, 1), lambda run: MoveWatch(run, ground, 4.6e6, ground.first, None), 0.2, 120))
    begun = made.ground(Direction.CLOSING, Phase.START)
    agrees(start, draws(made.before(begun), lambda run: StartWatch(run, begun, 4.6e6, begun.first, None), 0.2, 400))


@pytest.mark.slow
def test_drawn_losses_agree_on_a_fault_and_a_contact() -> None:
    made, at = bench(Channel(Fraction(3, 10)), STEADY, least=Fraction(1, 10**9)), 40_000_000
    ground = made.ground(Direction.CLOSING, Phase.TRAVEL)
    spot = place(faults()["loop-open"], made.site, "front edge")
    course = FaultProber(made.plant, made.site, 1, ground, spot, PERMANENT).begin(at)
    agrees(made.fault("loop-open", "front edge", Direction.CLOSING, at),
           draws(course, lambda run: FaultWatch(run, ground, 4.6e6, at, spot), 0.3, 250))
    course = ContactProber(made.plant, made.site, 1, ground, None, ground.first).begin(at)
    agrees(made.contact(Direction.CLOSING, at)[1],
           draws(course, lambda run: ContactWatch(run, ground, 4.6e6, at, None), 0.3, 250))


@pytest.mark.slow
def test_a_contact_is_missed_when_all_frames_of_the_press_are_lost(two_percent) -> None:
    rows = two_percent.contact(Direction.CLOSING, 45_000_000)
    assert [(row.story, row.device) for row in rows] == [(CONTACT, EDGE), (CONTACT, WHOLE)]
    # Four frames tell of the press (event_repeats); a check-in may lie between them.
    for row in rows:
        assert (2 * PERCENT) ** 5 <= row.bad <= (2 * PERCENT) ** 4
        assert any("travel-after-actuation" in why for why in row.failures)
    assert chance(rows[0], "safe in time") + rows[0].bad + rows[0].unaccounted == 1


@pytest.mark.slow
def test_times_and_what_is_exceeded(two_percent) -> None:
    row = two_percent.fault("loop-open", "front edge", Direction.CLOSING, 45_000_000)
    times = row.times
    assert [at for at, _ in times] == sorted({at for at, _ in times})
    assert times[0][1] == 98 * PERCENT
    # The first frame lost, the repeat 15 ms later is heard.
    assert times[1][0] - times[0][0] == pytest.approx(15_000, abs=4_000)
    for beyond in (Fraction(1, 2), PERCENT, Fraction(1, 10**5)):
        at = row.longest(beyond)
        assert at is not None
        longer = sum((mass for us, mass in times if us > at), row.unaccounted)
        assert longer <= beyond
        assert longer + next(mass for us, mass in times if us == at) > beyond
    assert row.longest(Fraction(1, 10**30)) is None  # what was left out may be longer


def test_without_loss_the_row_is_the_probe() -> None:
    made, at = bench(Channel(Fraction(0))), 45_000_000
    row = made.fault("loop-open", "front edge", Direction.CLOSING, at)
    assert list(row.found.values()) == [1]
    ground = made.ground(Direction.CLOSING, Phase.TRAVEL)
    told = FaultProber(made.plant, made.site, 1, ground, place(faults()["loop-open"], made.site, "front edge"))(at)
    assert next(iter(row.found)).what == told.what.value
    start, move = made.healthy(Direction.OPENING)
    assert (start.outcomes, move.outcomes) == ({STARTED: 1}, {UNDISTURBED: 1})


@pytest.mark.slow
def test_the_worst_moment_of_some_or_of_a_sweep() -> None:
    made = bench(Channel(2 * PERCENT), budget=6.0)
    tried = made.fault("lost-link", "front transmitter", Direction.CLOSING)
    assert "tried" in tried.moment
    swept = made.fault("lost-link", "front transmitter", Direction.CLOSING, swept=True)
    assert "sweep" in swept.moment
    assert swept.times[-1][0] >= tried.times[-1][0]


def test_what_there_is_no_time_for_is_unaccounted() -> None:
    row = bench(Channel(2 * PERCENT), budget=0.0).healthy(Direction.OPENING)[1]
    assert row.unaccounted == 1
    assert row.bad == 0
    assert row.longest(Fraction(1, 2)) is None


def test_a_site_without_radio_is_refused() -> None:
    wired = read_site(SITES / "orchard-row.site.yaml")
    with pytest.raises(BadUsage, match="no transmitter"):
        LossBench(wired, default_roles(), 1, channels_of(wired))


def test_a_moment_is_looked_up_in_the_moves(two_percent) -> None:
    assert two_percent.holds(Direction.OPENING, None)
    assert not two_percent.holds(Direction.OPENING, 45_000_000)
    assert two_percent.holds(Direction.CLOSING, 45_000_000)
    assert "closing lasts from" in two_percent.spans()
