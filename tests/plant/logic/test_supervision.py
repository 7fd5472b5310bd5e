"""What guards the way back, of one leaf and of two; how long a press has been held."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from gatesim.events import Direction, LeafName, Level
from gatesim.plant.logic.contract import GuardedEdge, Kind, Report
from gatesim.plant.logic.supervision import note_reports, way_back_guarded
from gatesim.units import FOREVER

OPENING, CLOSING = Direction.OPENING, Direction.CLOSING


def edge(name: str, way: Direction, leaf: LeafName = LeafName.FIRST) -> GuardedEdge:
    return GuardedEdge(name, way, f"{name} input", leaf=leaf)


ONE = (edge("nose", CLOSING), edge("tail", OPENING), edge("tail too", OPENING))
TWO = (edge("nose", CLOSING), edge("tail", OPENING), edge("nose 2", CLOSING, LeafName.SECOND),
       edge("tail 2", OPENING, LeafName.SECOND))
BARE = (edge("nose", CLOSING), edge("tail", OPENING), edge("nose 2", CLOSING, LeafName.SECOND))
RAY = GuardedEdge("ray", OPENING, "ray", Kind.BEAM)
ACROSS = RAY._replace(leaf=None)
"""A beam that guards both leaves."""


@pytest.mark.parametrize(("edges", "bad", "force", "guarded"), [
    ((), (), True, True), ((), (), False, False),
    (ONE, (), False, True), (ONE, ("tail",), False, True), (ONE, ("tail", "tail too"), True, False),
    (TWO, (), False, True), (TWO, ("tail",), True, False), (TWO, ("tail 2",), True, False),
    (TWO, ("nose", "nose 2"), False, True),
    (BARE, (), True, True), (BARE, (), False, False),
    ((*ONE, RAY), ("tail", "tail too"), False, True), ((*ONE, RAY), ("tail", "tail too", "ray"), True, False),
    ((*TWO, RAY), ("tail",), True, True), ((*TWO, RAY), ("tail 2",), True, False),
    ((*TWO, ACROSS), ("tail", "tail 2"), False, True), ((*TWO, ACROSS), ("tail 2", "ray"), True, False),
    ((*BARE, ACROSS), ("tail",), False, True), ((ACROSS,), (), False, True), ((ACROSS,), ("ray",), True, False),
])
def test_each_leaf_needs_its_own_guard_on_the_way_back(edges: Any, bad: Any, force: bool, guarded: bool) -> None:
    memory: Any = SimpleNamespace(latched=tuple((name, "loop open") for name in bad[:1]),
                                  found=tuple((name, "loop open") for name in bad[1:]))
    seen: Any = SimpleNamespace(reports=tuple(SimpleNamespace(edge=one.edge) for one in edges), force_ready=force)
    settings: Any = SimpleNamespace(edges=edges)
    assert way_back_guarded(memory, settings, seen, OPENING) is guarded


@pytest.mark.parametrize("as_a_copy", [False, True])
def test_a_press_held_at_standstill_ends_with_the_standstill(as_a_copy: bool) -> None:
    """Whether the reports are given again or told anew: another program knows no object of ours."""
    reports = (Report("nose", Level.PRESSED, True, True, False, False, 0),)
    memory: Any = SimpleNamespace(last=None, good_since=(), pressed_since=())
    for now, standing in ((0, True), (5, True), (7, False), (9, False), (12, True)):
        seen: Any = SimpleNamespace(reports=(*reports,) if as_a_copy else reports)
        note_reports(memory, seen, standing, now)
        memory.last = seen
        assert memory.pressed_since == ({0: 0, 5: 0, 12: 12}.get(now, FOREVER),)
