"""The radio path: latency, spread, loss, what is on its way."""

from __future__ import annotations

import sys
from pathlib import Path

from gatesim.events import FrameArrived, Level
from gatesim.plant.logic.contract import Frame
from gatesim.plant.part import Phase, Wire, state
from gatesim.plant.radio_path import RadioPath, launch
from gatesim.plant.wires import Downlink, Heard, Told, ToldMotion, Uplink
from gatesim.plant.world import Plant
from gatesim.units import FOREVER

sys.path.insert(0, str(Path(__file__).parent))

from edge_bench import MS, Cut, Run, begins, ends


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
