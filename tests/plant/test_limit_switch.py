"""The limit switches."""

from __future__ import annotations

from typing import Any

import pytest

from gatesim.events import LimitLeft, LimitReached, Side
from gatesim.plant import limit_switch
from gatesim.plant.motion import push, rest
from gatesim.plant.site import Site
from gatesim.plant.wires import LimitSwitch, Motion, Piece

LEAD, TRAVEL = 5_000.0, 4_000_000.0


@pytest.fixture
def ends(site: Site, bench: Any, feed: Any) -> Any:
    """Both switches, the leaf open."""
    made = bench(limit_switch.parts(site, None))
    made.at(0, feed(Motion(), rest(0.0, TRAVEL)))
    return made


def test_at_rest_open(ends: Any) -> None:
    assert ends.level(LimitSwitch("open")) is True
    assert ends.level(LimitSwitch("closed")) is False
    assert ends.log == []


def test_left_and_reached_at_the_lead(ends: Any, feed: Any) -> None:
    ends.at(1_000, feed(Motion(), (Piece(1_000, TRAVEL, -0.25, 0.0), Piece(16_001_000, 0.0, 0.0, 0.0))))
    assert ends.level(LimitSwitch("open")) is True
    ends.until(2e7)
    assert [(e.at, e.event) for e in ends.log] == [
        (pytest.approx(1_000 + 5_000 / 0.25), LimitLeft(Side.OPEN)),
        (pytest.approx(1_000 + 3_995_000 / 0.25), LimitReached(Side.CLOSED))]
    assert ends.calls == 4


def test_standing_exactly_at_the_lead_is_closed_and_stays_so(ends: Any, feed: Any) -> None:
    ends.at(0, feed(Motion(), push(0.0, TRAVEL, -1, TRAVEL - LEAD, 0.3, 1e-6)))
    ends.until(3e7)
    assert ends.level(LimitSwitch("closed")) is True
    now = 4e7
    ends.at(now, feed(Motion(), push(now, LEAD, 1, 1_000.0, 0.3, 1e-6)))
    assert ends.until(now)[-1].event == LimitLeft(Side.CLOSED)
    assert ends.instants(LimitLeft)[-1] == now


def test_turning_within_the_lead_does_not_chatter(ends: Any, feed: Any) -> None:
    for k in range(1, 6):
        now = k * 1_000_000
        here = TRAVEL if k % 2 else TRAVEL - 4_000.0
        ends.at(now, feed(Motion(), push(float(now), here, -1 if k % 2 else 1, 4_000.0, 0.3, 1e-6)))
    assert ends.until(1e7) == []
