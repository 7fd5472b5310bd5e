"""Motion felt by a transmitter."""

from __future__ import annotations

import sys
from pathlib import Path

from gatesim.plant.motion_sense import MotionSense
from gatesim.plant.wires import Motion, MotionFelt, Piece
from gatesim.plant.world import Plant

sys.path.insert(0, str(Path(__file__).parent))

from edge_bench import MS, Lever, Run, pull

STILL = (Piece(0, 0.0, 0.0, 0.0),)


def felt(*plans: tuple[float, tuple[Piece, ...]], delay: int = 200 * MS, until: float = 5000 * MS) -> list[float]:
    """Instants (ms) at which the feeling changes."""
    run = Run(Plant([Lever(Motion(), STILL), MotionSense("tx", delay)]))
    changes, before = [], False
    marks = sorted({t for t, _ in plans} | {until})
    for mark in marks:
        while run.world.deadline() < mark:
            run.at(run.world.deadline())
            if run.level(MotionFelt("tx")) != before:
                before = not before
                changes.append(run.world.now / MS)
        run.at(mark, *[pull(Motion(), pieces) for t, pieces in plans if t == mark])
        if run.level(MotionFelt("tx")) != before:
            before = not before
            changes.append(mark / MS)
    return changes


def move(start: float, stop: float) -> tuple[Piece, ...]:
    ramp = (stop - start) / 2
    return (Piece(0, 0.0, 0.0, 0.0), Piece(start, 0.0, 0.0, 1e-6), Piece(start + ramp, 0.0, 0.2, -1e-6),
            Piece(stop, 0.0, 0.0, 0.0))


def test_motion_is_felt_late_and_so_is_standstill() -> None:
    assert felt((100 * MS, move(300 * MS, 1300 * MS))) == [500, 1500]


def test_stop_shorter_than_the_delay_is_not_felt() -> None:
    twice = (*move(300 * MS, 1300 * MS), *move(1450 * MS, 2400 * MS)[1:])
    assert felt((0, twice)) == [500, 2600]


def test_stop_as_long_as_the_delay_is_felt() -> None:
    twice = (*move(300 * MS, 1300 * MS), *move(1501 * MS, 2400 * MS)[1:])
    assert felt((0, twice)) == [500, 1500, 1701, 2600]


def test_changed_plan_is_followed() -> None:
    assert felt((0, move(300 * MS, 1300 * MS)), (800 * MS, (Piece(800 * MS, 0.0, 0.0, 0.0),))) == [500, 1000]


def test_plan_given_up_before_it_began_is_not_felt() -> None:
    assert felt((0, move(300 * MS, 1300 * MS)), (200 * MS, STILL)) == []


def test_without_delay_it_is_felt_at_once() -> None:
    assert felt((0, move(300 * MS, 1300 * MS)), delay=0) == [300, 1300]
