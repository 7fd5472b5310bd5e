"""Obstructions as blocks: place, covering edge, force over deflection."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gatesim.errors import ModelError
from gatesim.events import Direction, EnterObstruction, LeaveObstruction
from gatesim.plant import obstruction
from gatesim.plant.curve import deflection, deflection_at, force_at, place
from gatesim.plant.motion import rest
from gatesim.plant.site import Site
from gatesim.plant.wires import Block, Blocks, Motion


def entered(site: Site, bench: Any, feed: Any, stimulus: EnterObstruction, x: float = 4_000_000.0) -> Block:
    """The block of one obstruction that enters while the leaf is at x."""
    box = bench(obstruction.parts(site, None))
    box.at(0, feed(Motion(), rest(0, x)))
    box.at(10, stimulus)
    (block,) = box.level(Blocks())
    assert isinstance(block, Block)
    return block


def test_on_the_edge(site: Site, bench: Any, feed: Any) -> None:
    block = entered(site, bench, feed, EnterObstruction("post", "front", 1e6, None, True))
    assert (block.at, block.direction, block.edge, block.overtravel) == (1e6, Direction.CLOSING, "nose", 40_000.0)
    assert block.actuates == 10_000.0
    assert block.brought_up == 500_000.0
    assert [force_at(block, d) for d in (-1.0, 0.0, 5_000.0, 10_000.0, 30_000.0, 50_000.0, 50_100.0)] == pytest.approx(
        [0, 0, 30_000, 60_000, 280_000, 500_000, 550_000])


def test_beyond_the_edge(site: Site, bench: Any, feed: Any) -> None:
    block = entered(site, bench, feed, EnterObstruction("post", "front", 1e6, None, False))
    assert (block.edge, block.actuates, block.brought_up) == ("", None, 1_000_000.0)
    assert [force_at(block, d) for d in (0.0, 50.0, 2_000.0, 3_000.0)] == pytest.approx([0, 25_000, 1e6, 1.5e6])


def test_a_yielding_one_gives_way_in_series(site: Site, bench: Any, feed: Any) -> None:
    block = entered(site, bench, feed, EnterObstruction("hand", "front", 1e6, 20.0, True))
    assert block.actuates == pytest.approx(10_000 + 60_000 / 20)
    assert block.end_stiffness == pytest.approx(1 / (1 / 500 + 1 / 20))
    assert deflection_at(block, 280_000) == pytest.approx(30_000 + 280_000 / 20)


def test_a_weak_drive_is_brought_up_before_the_edge_is_used_up(site: Site, bench: Any, feed: Any) -> None:
    weak = replace(site, drive=replace(site.drive, stall_force=280_000.0))
    block = entered(weak, bench, feed, EnterObstruction("post", "front", 1e6, None, True))
    assert block.brought_up == 280_000.0
    assert force_at(block, 30_000.0 + 100) == pytest.approx(280_000 + 500 * 100)


@pytest.mark.parametrize(("zone", "position", "x", "stands"), [
    ("front", 2e6, 1e6, 1e6), ("front", 1e6, 2e6, 1e6), ("rear", 1e6, 2e6, 2e6), ("rear", 2e6, 1e6, 2e6)])
def test_past_its_place_it_is_moved_to_the_leaf(site: Site, bench: Any, feed: Any, zone: str, position: float, x: float,
                                                stands: float) -> None:
    block = entered(site, bench, feed, EnterObstruction("post", zone, position, None, True), x)
    assert block.at == stands
    assert deflection(block, x) <= 0


def test_enters_leaves_and_is_replaced(site: Site, bench: Any) -> None:
    box = bench(obstruction.parts(site, None))
    box.at(0, EnterObstruction("a", "front", 1e6, None, True), EnterObstruction("b", "rear", 2e6, None, True))
    box.at(1, EnterObstruction("a", "rear", 3e6, None, True))
    assert [(b.obstruction, b.edge) for b in box.level(Blocks())] == [("b", "tail"), ("a", "tail")]
    box.at(2, LeaveObstruction("b"))
    assert [b.obstruction for b in box.level(Blocks())] == ["a"]


def test_the_first_edge_of_a_zone_covers(site: Site, bench: Any, feed: Any) -> None:
    two = replace(site, edges=(*site.edges, replace(site.edges[0], name="nose two")))
    assert entered(two, bench, feed, EnterObstruction("post", "front", 1e6, None, True)).edge == "nose"
    turned = replace(two, edges=two.edges[::-1])
    assert entered(turned, bench, feed, EnterObstruction("post", "front", 1e6, None, True)).edge == "nose two"


def test_an_unknown_zone_is_refused(site: Site, bench: Any) -> None:
    box = bench(obstruction.parts(site, None))
    with pytest.raises(ModelError, match="'nowhere', which is no zone"):
        box.at(0, EnterObstruction("post", "nowhere", 1e6, None, True))


def test_an_edge_that_gives_way_without_force_at_first() -> None:
    curve = ((0.0, 0.0), (5.0, 0.0), (5.0, 10.0), (9.0, 50.0))
    block = Block("p", Direction.OPENING, 0.0, curve, 100.0, 5.0, "e", 4.0, 50.0)
    assert [force_at(block, d) for d in (3.0, 5.0, 7.0, 9.0, 10.0)] == [0.0, 0.0, 30.0, 50.0, 150.0]
    assert [deflection_at(block, f) for f in (0.0, 5.0, 30.0, 150.0)] == [0.0, 5.0, 7.0, 10.0]


@given(st.floats(1, 2e6), st.floats(1, 1e5), st.floats(1, 1e5), st.floats(1_000, 4e5), st.floats(0, 1e6),
       st.floats(1, 1e4), st.sampled_from(Direction))
def test_force_and_deflection_undo_each_other(force: float, d1: float, d2: float, f1: float, f2: float, end: float,
                                              way: Direction) -> None:
    full = f1 + f2 + 1
    block = Block("p", way, 5.0, ((0.0, 0.0), (d1, f1), (d1 + d2, full)), end, d1, "e", d2, min(6e5, full))
    deep = deflection_at(block, force)
    assert force_at(block, deep) == pytest.approx(force, rel=1e-6)
    assert deflection(block, place(block, deep)) == pytest.approx(deep, abs=1e-6)
