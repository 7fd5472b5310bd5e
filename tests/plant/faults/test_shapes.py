"""Shapes of faults: timing of what comes and goes, and of what comes late."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gatesim.plant.faults.shapes import Beating, Cut, Frozen, Held, Latched, Late, Value
from gatesim.units import FOREVER


class Off(Held):
    level = False


class Steps(Late):
    """Each message later than the one before it, then less."""

    def delay(self, count: int) -> float:
        return (30, 10, 0)[count % 3]


class Ticking(Beating):
    lasts, gap = 30, 10


def test_values_of_one_kind_are_equal() -> None:
    assert Off() == Off()
    assert Off() != Latched()
    assert len({Off(), Off(), Cut()}) == 2
    assert repr(Off()) == "Off()"
    assert Value() != 1


def test_held_frozen_latched() -> None:
    assert Off().passes(None, True, 0) is False
    frozen, state = Frozen(), Frozen().initial()
    assert [frozen.passes(state, value, 0) for value in (None, 2, 3)] == [None, None, None]
    latched, caught = Latched(), Latched().initial()
    assert [latched.passes(caught, value, 0) for value in (False, True, False)] == [False, True, True]
    fork = caught.copy()
    assert latched.passes(fork, False, 0) is True


def test_beating_keeps_its_own_time() -> None:
    fault = Ticking()
    state = fault.initial()
    now, seen = 100.0, []
    for _ in range(6):
        assert fault.deadline(state, now) >= now
        now = fault.deadline(state, now)
        fault.tick(state, now)
        seen.append((now, state.there))
    assert seen == [(100, True), (130, False), (140, True), (170, False), (180, True), (210, False)]


@given(st.lists(st.integers(0, 40), max_size=12))
def test_late_messages_keep_their_order_and_are_all_released(gaps: list[int]) -> None:
    fault = Steps()
    state, now, got = fault.initial(), 0.0, []

    def live(until: float) -> None:
        while fault.deadline(state, until) <= until:
            due = fault.deadline(state, until)
            got.extend((due, message) for message in fault.tick(state, due))

    for number, gap in enumerate(gaps):
        live(now + gap)
        now += gap
        assert fault.relays(state, number, now) == ()
    live(now + 1_000)
    assert [message for _, message in got] == list(range(len(gaps)))
    assert fault.deadline(state, now) == FOREVER


def test_a_late_shape_must_say_how_late() -> None:
    with pytest.raises(NotImplementedError):
        Late().delay(0)
