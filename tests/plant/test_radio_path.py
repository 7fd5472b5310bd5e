"""The radio path: latency, spread, loss, what is on its way."""

from __future__ import annotations

import sys
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from gatesim.events import FrameArrived, Level
from gatesim.plant.burst_state import chain_of
from gatesim.plant.link_budget import Link
from gatesim.plant.logic.contract import Frame
from gatesim.plant.motion import rest
from gatesim.plant.part import Phase, Wire, state
from gatesim.plant.radio_path import RadioPath, launch, parts
from gatesim.plant.radio_tables import Bursts
from gatesim.plant.wires import Downlink, Heard, Motion, Piece, Told, ToldMotion, Uplink
from gatesim.plant.world import Plant
from gatesim.units import FOREVER

sys.path.insert(0, str(Path(__file__).parent))

from air_bench import Air, M, a_radio
from edge_bench import MS, NODE, Cut, Run, begins, ends, site


@state
class _Mouth:
    n: int


class Sender:
    """Sends a frame (and a downlink message) every `period`."""

    phase, rank, takes, name = Phase.SENSE, 1, (), "sender"

    def __init__(self, period: int) -> None:
        self.period = period

    def reads(self) -> tuple[Wire, ...]:
        return ()

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((Uplink("tx"), ()), (Downlink("tx"), ()))

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> _Mouth:
        return _Mouth(0)

    def react(self, state: _Mouth, now: float, seen: list[object], out: object) -> float:
        out.put(0, Frame(7, 1, state.n, 1, (Level.REST,), False, False, 0))  # type: ignore[attr-defined]
        out.put(1, Told(True, state.n))  # type: ignore[attr-defined]
        state.n += 1
        return now + self.period


@state
class _Heap:
    frames: tuple[object, ...]
    told: tuple[object, ...]


class Ear:
    """Keeps what arrives."""

    phase, rank, takes, name = Phase.EXPIRE, 1, (), "ear"

    def reads(self) -> tuple[Wire, ...]:
        return (Heard("tx"), ToldMotion("tx"))

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ()

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> _Heap:
        return _Heap((), ())

    def react(self, state: _Heap, now: float, seen: list[object], out: object) -> float:
        state.frames = (*state.frames, *[(now, one.counter) for one in seen[0]])  # type: ignore[attr-defined]
        state.told = (*state.told, *[(now, one.ask) for one in seen[1]])  # type: ignore[attr-defined]
        return FOREVER


def run_of(latency: int = 20 * MS, spread: int = 0, loss: float = 0.0, period: int = 100 * MS, seed: int = 1) -> Run:
    return Run(Plant([Sender(period), RadioPath("tx", latency, spread, loss), Ear()]), seed)  # type: ignore[list-item]


def test_frames_and_messages_travel_the_latency() -> None:
    run = run_of().at(350 * MS)
    heap = run.state("ear", Ear)
    assert heap.frames == tuple((k * 100 * MS + 20 * MS, k) for k in range(4))
    assert heap.told == heap.frames
    assert run.all(FrameArrived) == [(at, FrameArrived("tx", n)) for at, n in heap.frames]


def test_no_latency_is_the_same_instant() -> None:
    assert run_of(latency=0).at(100 * MS).state("ear", Ear).frames == ((0, 0), (100 * MS, 1))


def test_spread_is_drawn_in_whole_microseconds_and_within_bounds() -> None:
    run = run_of(spread=3).at(100_000 * MS)
    late = [at - n * 100 * MS - 20 * MS for at, n in run.state("ear", Ear).frames]
    assert set(late) == {0, 1, 2, 3}
    assert {type(one) for one in late} == {int}


def test_loss_comes_at_its_rate_and_downlink_has_none() -> None:
    run = run_of(loss=0.25).at(200_000 * MS)
    heap = run.state("ear", Ear)
    assert 420 < 2000 - len(heap.frames) < 580  # four standard deviations of 2000 draws
    assert len(heap.told) == 2000


def test_certain_loss_and_none() -> None:
    assert run_of(loss=1.0).at(2000 * MS).state("ear", Ear).frames == ()
    assert len(run_of(loss=0.0).at(2000 * MS).state("ear", Ear).frames) == 20


def test_no_draw_where_nothing_is_left_to_chance() -> None:
    assert run_of().at(1000 * MS).world.counters == [0, 0]
    assert run_of(loss=0.5).at(1000 * MS).world.counters == [11, 0]


def test_cut_path_loses_what_is_sent_from_then_on_and_spares_what_flies() -> None:
    run = run_of().at(0).at(210 * MS, begins(Cut(), Uplink("tx"))).at(350 * MS, ends()).at(450 * MS)
    assert [n for _, n in run.state("ear", Ear).frames] == [0, 1, 2, 4]
    run = run_of().at(0).at(200 * MS, begins(Cut(), Uplink("tx"))).at(350 * MS)
    assert [n for _, n in run.state("ear", Ear).frames] == [0, 1]


def test_frames_may_overtake_and_equal_arrivals_keep_their_order() -> None:
    flying = launch(launch(launch((), 30, "a"), 20, "b"), 30, "c")
    assert [name for _, name in flying] == ["b", "a", "c"]


def test_fork_in_mid_flight_has_the_same_future() -> None:
    run = run_of(spread=50 * MS, loss=0.3, period=10 * MS).at(505 * MS)
    assert run.state("tx", RadioPath).up
    fork = run.fork()
    assert fork.world == run.world
    run.at(3000 * MS)
    assert fork.world != run.world
    fork.at(3000 * MS)
    assert fork.world == run.world
    assert fork.trace == run.trace


# --- link budget and bursts ----------------------------------------------------------------------------------------


def lost(air: Air, frames: int) -> int:
    return sum(air.is_lost() for _ in range(frames))


def test_no_link_and_no_bursts_is_the_plain_path() -> None:
    plain = RadioPath("tx", 1, 2, 0.5)
    assert plain.reads() == (Uplink("tx"), Downlink("tx"))
    assert plain.streams() == ("loss of tx", "latency of tx")


def test_the_loss_is_that_of_the_leafs_place_at_the_instant_of_sending() -> None:
    # Margin falls from 20 to 0 dB over 4 m: loss 0 at closed, 10 % half way, 50 % at the open end.
    link = Link(4 * M, (20.0, 0.0), ((0.0, 0.5), (10.0, 0.1), (20.0, 0.0)), ())
    assert lost(Air(link=link, motion=rest(0, 0.0)), 1000) == 0
    for x, chance in ((1.0, 0.05), (2.0, 0.1), (3.0, 0.3), (4.0, 0.5)):
        found = lost(Air(link=link, motion=rest(0, x * M)), 4000)
        assert abs(found - 4000 * chance) < 4 * (4000 * chance * (1 - chance)) ** 0.5, x
    moving = Air(link=link, motion=(Piece(0.0, 0.0, 1.0, 0.0), Piece(4 * M, 4 * M, 0.0, 0.0)), period=1000)
    first, rest_of = lost(moving, 1000), [lost(moving, 1000) for _ in range(3)]
    assert first < rest_of[0] < rest_of[1] < rest_of[2]


def test_the_causes_of_loss_are_independent() -> None:
    link = Link(4 * M, (0.0, 0.0), ((0.0, 0.5), (10.0, 0.0)), ())
    chain = chain_of(Bursts(loss_in_good=0.2, loss_in_bad=0.2001, good_to_bad=0.1, bad_to_good=0.1))
    air = Air(loss=0.3, link=link, bursts=chain)
    assert abs(lost(air, 20_000) / 20_000 - (1 - 0.7 * 0.5 * 0.8)) < 0.013  # four standard deviations
    assert air.out.counts == [20_000, 0, 20_000]


def test_bursts_last_as_long_as_they_should() -> None:
    """Every frame lost in a bad state that lasts 10 frames on the mean (1 / r) and comes every 110."""
    air = Air(bursts=chain_of(Bursts(good_to_bad=0.01, bad_to_good=0.1)), seed=3)
    said = "".join("x" if air.is_lost() else "." for _ in range(200_000))
    lengths = [len(run) for run in said.split(".") if run]
    assert abs(sum(lengths) / len(lengths) - 10) < 4 * (90 / len(lengths)) ** 0.5
    assert abs(said.count("x") / len(said) - 1 / 11) < 0.01


def test_in_time_close_frames_share_their_fate_and_distant_ones_do_not() -> None:
    chain = chain_of(Bursts(mean_good=900_000, mean_bad=100_000))

    def both(period: int) -> float:
        air = Air(bursts=chain, period=period, seed=5)
        said = [air.is_lost() for _ in range(60_000)]
        return sum(a and b for a, b in pairwise(said)) / max(1, sum(said))

    assert both(1_000) == pytest.approx(0.99, abs=0.01)
    assert both(10_000_000) == pytest.approx(0.1, abs=0.02)


def test_a_path_with_a_link_budget_hangs_on_the_leafs_motion() -> None:
    table = site()
    nodes = (replace(NODE, radio=a_radio()), replace(NODE, name="other"))
    made = [part for part in parts(replace(table, transmitters=nodes), None)  # type: ignore[arg-type]
            if isinstance(part, RadioPath)]
    assert [Motion() in part.reads() for part in made] == [True, False]


def test_margin_taken_by_another_sender_costs_frames() -> None:
    air = Air(link=Link(4 * M, (20.0, 20.0), ((0.0, 0.5), (10.0, 0.1), (20.0, 0.0)), ()))
    assert lost(air, 500) == 0
    air.taken = 20.0
    assert 400 < lost(air, 1000) < 600
    air.taken = 0.0
    assert lost(air, 500) == 0


def test_a_fork_keeps_the_state_of_the_burst() -> None:
    air = Air(bursts=chain_of(Bursts(mean_good=5_000, mean_bad=5_000)))
    while not air.state.bad:
        air.is_lost()
    copy = air.state.copy()
    assert copy == air.state
    assert (copy.bad, copy.looked) == (True, air.now)
