"""More of one thing never gives less of another."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from gatesim.events import Command, ForcePeaked, Level, LevelChanged, ReportChanged
from gatesim.plant.site import Site
from gatesim.scenario import model as m

sys.path.insert(0, str(Path(__file__).parent))

from stories import MS, S, lived, shipped

MILL = shipped("mill-lane")


def told(site: Site, ends: int, *steps: m.AnyStep) -> m.Scenario:
    return m.Scenario("law", "", site, ends, steps, ())


def impact(mass: float, position: float, stiffness: float | None, touches: m.Touches) -> tuple[float, float]:
    """Greatest force (mN) and deepest place past the first touch (um) of one impact while closing."""
    site = replace(MILL, leaf_at=MILL.gate.travel, gate=replace(MILL.gate, mass=mass))
    post = m.Obstruct(do="obstruct", at=0, obstruction="post", zone="closing gap", position=position,
                      stiffness=stiffness, touches=touches)
    seen = lived(told(site, 24 * S, m.GiveCommand(do="command", at=S, command=Command.CLOSE), post))
    peaks = [event for _, event in seen if type(event) is ForcePeaked]
    assert peaks, "the leaf never met the post"
    depth = max(position - event.x for _, event in seen if hasattr(event, "x"))
    return max(peak.force for peak in peaks), depth


@pytest.mark.slow
@pytest.mark.parametrize("touches", m.Touches)
def test_a_heavier_leaf_never_strikes_softer_nor_stops_shorter(touches: m.Touches) -> None:
    chance = Random(7)
    grew = 0
    for _ in range(12):
        light = 150.0 + 300.0 * chance.random()
        heavy = light * (1 + chance.random())
        where = MILL.gate.travel * (0.3 + 0.6 * chance.random()), chance.choice((None, 4.0, 40.0)), touches
        (force, depth), (more_force, more_depth) = impact(light, *where), impact(heavy, *where)
        assert more_force >= force
        assert more_depth >= depth
        grew += more_depth > depth
    assert grew >= (6 if touches is m.Touches.LEAF else 0), "mass has no say at all"


def first(debounce: int, presses: tuple[m.AnyStep, ...]) -> float:
    """When the level *pressed* is first taken over."""
    nodes = tuple([replace(node, debounce=debounce) for node in MILL.transmitters])
    site = replace(MILL, transmitters=nodes)
    seen = lived(told(site, 4 * S, *presses))
    return min((at for at, event in seen if type(event) is LevelChanged and event.level is Level.PRESSED),
               default=float("inf"))


@pytest.mark.slow
def test_a_longer_debounce_never_takes_a_press_over_sooner() -> None:
    chance = Random(11)
    later = never = 0
    for _ in range(25):
        at, presses = S, []
        for _ in range(6):
            at += chance.randrange(5 * MS, 120 * MS)
            held = chance.randrange(1 * MS, 90 * MS)
            presses.append(m.PressEdge(do="press", at=at, edge="front edge", held=held))
            at += held
        taken = [first(debounce, tuple(presses)) for debounce in (1, 2, 3, 5, 8)]
        assert taken == sorted(taken)
        later += taken[0] < taken[-1]
        never += taken[-1] == float("inf")
    assert later > 15
    assert never < 25


def stale(watchdog: int, cut: int) -> float:
    """When a cut path is found while opening."""
    assert MILL.receiver is not None
    site = replace(MILL, receiver=replace(MILL.receiver, watchdog_in_motion=watchdog))
    fault = m.Fault(do="fault", at=cut, fault="lost-link", device="rear transmitter")
    seen = lived(told(site, 12 * S, m.GiveCommand(do="command", at=S, command=Command.OPEN), fault))
    return min((at for at, event in seen if type(event) is ReportChanged and event.heard and not event.fresh),
               default=float("inf"))


@pytest.mark.slow
def test_a_longer_watchdog_never_finds_a_lost_link_sooner() -> None:
    chance = Random(13)
    for _ in range(8):
        cut = chance.randrange(2 * S, 3 * S)
        found = [stale(watchdog, cut) for watchdog in (300 * MS, 500 * MS, 900 * MS, 2 * S)]
        assert found == sorted(found)
        assert cut < found[0] < found[-1] < float("inf")
