"""Lanes of a run: hand-written traces of a few lines, and shipped runs against the product's own motion and force."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from io import StringIO
from pathlib import Path

import pytest
from rich.console import Console

from gatesim import events as e
from gatesim.cli import known
from gatesim.events import Direction, Stamped
from gatesim.plant.site import Site
from gatesim.report.lanes import (
    BEYOND,
    BLOCKS,
    PLAIN,
    Stretch,
    Track,
    axis,
    draw_lanes,
    lanes_of,
    mark,
    step_of,
    story_of,
    stretches_of,
)
from gatesim.run import RunResult, default_roles, run_scenario
from gatesim.shown import System, shown_in

sys.path.insert(0, str(Path(__file__).parent.parent / "field"))

from field_site import MM, S, a_site

SITE = replace(a_site(), leaf_at=4_000 * MM)
CLOSING = Direction.CLOSING


def moves(at: float, x: float, v: float, a: float = 0.0) -> Stamped:
    return Stamped(at, e.MotionChanged(x, v, a, CLOSING if v or a else None))


# From 4 m at 1 s with 0.2 m/s down to 2 m at 11 s; a block there from 10.9 s on; to rest at 11.5 s; back a little.
TOUCH = 10_900_000.0
TRACE = (
    moves(1 * S, 4_000 * MM, -0.2),
    Stamped(TOUCH, e.ContactBegan("block", CLOSING, "front edge", 2_020 * MM, 55 * MM, False)),
    Stamped(TOUCH + 50_000, e.ForceRose("block", 25_000.0)),
    Stamped(11 * S, e.LoopChanged("front edge", 119.0)),
    moves(11 * S, 2_000 * MM, -0.2, 0.4e-6),
    Stamped(11.5 * S, e.ForcePeaked("block", CLOSING, 300_000.0, 2_020 * MM)),
    Stamped(11.5 * S, e.LeafStopped(1_950 * MM)),
    moves(13 * S, 1_950 * MM, 0.0, 0.4e-6),
    Stamped(13.5 * S, e.LoopChanged("front edge", 8_200.3)),
    Stamped(13.6 * S, e.ForceFell("block", 25_000.0)),
    Stamped(13.65 * S, e.ContactEnded("block", CLOSING)),
    Stamped(14 * S, e.LeafStopped(2_150 * MM)),
)


def page(events: Sequence[Stamped], width: int = 100, blocks: bool = False, site: Site = SITE) -> list[str]:
    file = StringIO()
    draw_lanes(Console(file=file, width=width, color_system=None), events, site, blocks)
    return file.getvalue().splitlines()


def lane(name: str, events: Sequence[Stamped] = TRACE):
    return next(one for one in lanes_of(story_of(events, SITE), SITE) if one.name == name)


def test_position_and_speed_are_the_pieces_of_motion() -> None:
    track = Track(SITE.leaf_at)
    for at, event in TRACE:
        track.see(at, event)
    assert track.position(0) == 4_000 * MM
    assert track.position(6 * S) == pytest.approx(3_000 * MM)
    assert track.position(12 * S) == 1_950 * MM
    assert max(track.speeds(2 * S, 3 * S)) == min(track.speeds(2 * S, 3 * S)) == -0.2
    assert lane("speed closing <").greatest(11.25 * S, 11.3 * S) == pytest.approx(0.1)
    assert lane("speed opening >").greatest(13 * S, 13.5 * S) == pytest.approx(0.2)
    assert lane("speed opening >").greatest(2 * S, 3 * S) < 0


def test_force_is_what_was_told_and_a_line_over_the_way_between() -> None:
    force = lane("force").greatest
    assert force(0, 10 * S) == 0
    assert force(TOUCH, TOUCH + 25_000) == pytest.approx(12_500)
    assert force(11.5 * S, 11.6 * S) == 300_000
    assert force(12 * S, 12.9 * S) == pytest.approx(300_000)  # at rest it holds
    assert force(14 * S, 15 * S) == 0
    assert force(0, 20 * S) == 300_000  # a short peak is never lost in a wide column


def test_a_loop_shows_what_is_farthest_from_rest() -> None:
    loop = lane("loop front edge").greatest
    assert loop(0, 10 * S) == pytest.approx(8_200.3)
    assert loop(0, 20 * S) == 119
    assert loop(14 * S, 15 * S) == pytest.approx(8_200.3)
    flash = (*TRACE, Stamped(16 * S, e.LoopChanged("front edge", 1e9)), Stamped(16 * S + 5, e.LoopChanged(
        "front edge", 8_200.3)))
    assert lane("loop front edge", flash).greatest(15 * S, 17 * S) == 1e9


@pytest.mark.parametrize("marks", [PLAIN, BLOCKS])
def test_marks_rise_and_tell_nothing_from_little(marks: str) -> None:
    assert mark(0, 10, marks) == marks[0]
    assert mark(-1, 10, marks) == marks[0]
    assert mark(1e-9, 10, marks) == marks[1]
    assert mark(10, 10, marks) == marks[-1]
    assert mark(10.1, 10, marks) == BEYOND
    order = [marks.index(mark(value / 10, 10, marks)) for value in range(101)]
    assert order == sorted(order)
    assert set(order) == set(range(len(marks)))


@pytest.mark.parametrize(("span", "columns", "step"), [
    (39.9 * S, 40, 1 * S), (40 * S, 40, 2 * S), (3.99 * S, 40, 100_000), (86_400 * S, 60, 2_000 * S), (1, 10, 1_000)])
def test_a_column_is_a_round_number(span: float, columns: int, step: float) -> None:
    assert step_of([Stretch(0, span)], columns) == step


def test_the_axis_says_where_a_column_begins() -> None:
    said = axis([Stretch(20 * S, 39.9 * S)], 500_000)
    assert [said.index(text) for text in ("20.0", "25.0", "30.0", "35.0")] == [0, 10, 20, 30]
    said = axis([Stretch(20 * S, 25 * S), Stretch(3_600 * S, 3_610 * S)], 1 * S)
    assert [said.index(text) for text in ("20", "3600", "3610")] == [0, 7, 17]


def test_long_rests_are_cut_out_and_only_where_the_leaf_stands() -> None:
    later = (*TRACE, moves(7_200 * S, 2_150 * MM, -0.2), Stamped(7_205 * S, e.LeafStopped(1_150 * MM)))
    story = story_of(later, SITE)
    assert stretches_of(story, 8) == (Stretch(1 * S, 14 * S), Stretch(7_200 * S, 7_205 * S))
    assert stretches_of(story, 1) == (Stretch(1 * S, 7_205 * S),)
    slow = (moves(1 * S, 4_000 * MM, -0.01), Stamped(101 * S, e.LeafStopped(3_000 * MM)))
    assert stretches_of(story_of(slow, SITE), 8) == (Stretch(1 * S, 101 * S),)
    text = "\n".join(page(later))
    assert "a rest of more than 10 s is left out" in text
    assert "7200" in text
    (closing,) = [line[20:] for line in text.splitlines() if line.startswith("speed closing")]
    assert closing.split()[0].count("|") == 1


def test_the_page_says_each_unit_and_fits() -> None:
    lines = page(TRACE)
    assert all(len(line) <= 100 for line in lines)
    assert all(line.isascii() for line in lines)
    text = "\n".join(lines)
    for said in ("a column is 0.5 s", "0 to 4.60 m", "0 to 0.20 m/s", "0 to 300 N", "0 to 16.40 kohm",
                 "rear edge      stays at 8.20 kohm"):
        assert said in text
    (closing,) = [line[20:] for line in lines if line.startswith("speed closing")]
    # From the column of 1 s on, 0.5 s each: 21 full columns to 11.5 s, then nothing.
    assert closing.split()[0] == "#" * 21 + "_" * 6


def test_the_page_in_us_units_and_with_blocks() -> None:
    with shown_in(System.US):
        text = "\n".join(page(TRACE, blocks=True))
    for said in ("0 to 15 ft 1.1 in", "0 to 0.66 ft/s", "0 to 67.4 lbf", BLOCKS[-1]):
        assert said in text


def test_a_run_without_motion_has_its_lanes() -> None:
    text = "\n".join(page(()))
    assert "force               none in this run" in text
    assert "position" in text
    assert "speed" not in text


SCENARIOS = Path(__file__).parents[2] / "scenarios"


@cache
def ran(name: str) -> RunResult:
    return run_scenario(known.scenario(str(SCENARIOS / f"{name}.scenario.yaml")), default_roles())


@pytest.mark.parametrize("name", ["first-look", "second-demand", "beyond-the-edge"])
def test_shipped_runs_join_without_a_step(name: str) -> None:
    """The lanes' own position meets every position that an event states; speed never jumps above the drive's."""
    run = ran(name)
    site, events = run.scenario.site, run.sections[0].events
    story = story_of(events, site)
    track = story.tracks[e.LeafName.FIRST]
    for at, event in events:
        if isinstance(event, e.MotionChanged | e.LeafStopped | e.LimitReached | e.ContactBegan):
            assert track.position(at) == pytest.approx(getattr(event, "x", track.position(at)), abs=1e-3)
    top = max(site.drive.speed_opening, site.drive.speed_closing)
    assert all(abs(v) <= top * (1 + 1e-6) for v in track.speeds(story.changes[0], story.changes[-1]))
    peak = max(event.force for _, event in events if isinstance(event, e.ForcePeaked))
    made = {one.name: one for one in lanes_of(story, site)}
    assert made["force"].greatest(story.changes[0], story.changes[-1] + 1) == peak
