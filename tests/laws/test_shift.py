"""Nothing depends on the hour: a story told later happens later, and is otherwise the same.

Two forms.  With the phases of all clocks shifted as well, any whole shift will do, chance included: the draws are
counted, not timed.  With the clocks where they are, the shift must be a whole number of every period (scans,
check-ins at rest, kept by clocks that do not err), nothing may be left to chance (there are more check-ins before the
story), and the numbers of frames and scans differ.  In both, instants and places that motion produces agree to within
the rounding of binary64 there (1e-3 us and um), and what happens before the story's first step is not compared.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from enum import Enum
from pathlib import Path
from typing import Any

import pytest

from gatesim import events as e
from gatesim.events import Stamped
from gatesim.plant.build import build
from gatesim.plant.site import Site
from gatesim.scenario import model as m

sys.path.insert(0, str(Path(__file__).parent))

from stories import S, lived, references, story

BEGIN = 6 * S
"""Every story begins here: by then all devices are heard."""
CLOSE = 1e-3
CASES, BATCH = 60, 6


def later(told: m.Scenario, by: int, site: Site) -> m.Scenario:
    steps = tuple([replace(step, at=step.at + by) for step in told.steps])
    return replace(told, steps=steps, ends=told.ends + by, site=site)


def phases_later(site: Site, by: int) -> Site:
    nodes = tuple([replace(node, sampling_phase=node.sampling_phase + by, checkin_phase=node.checkin_phase + by)
                   for node in site.transmitters])
    wired = tuple([replace(one, sampling_phase=one.sampling_phase + by) for one in site.wired_inputs])
    return replace(site, transmitters=nodes, wired_inputs=wired)


def without_chance(site: Site, checkin: int) -> Site:
    nodes = tuple([replace(node, loss=0.0, latency_spread=0, checkin_jitter=0, checkin_at_rest=checkin, radio=None,
                           bursts=None, clock=None) for node in site.transmitters])
    return replace(site, transmitters=nodes)


def untimed(site: Site) -> Site:
    """Without bursts: they begin good when the run begins."""
    return replace(site, transmitters=tuple([replace(node, bursts=None) for node in site.transmitters]))


def plain(value: Any) -> Any:
    return value.value if isinstance(value, Enum) else value


def same(one: Stamped, other: Stamped, by: int, numbered: bool) -> bool:
    if type(one.event) is not type(other.event) or abs(one.at + by - other.at) > CLOSE:
        return False
    for name, first, second in zip(one.event._fields, one.event, other.event, strict=True):
        if isinstance(first, float) and isinstance(second, float):
            if abs(first - second) > CLOSE:
                return False
        elif first != second and (numbered or name not in ("counter", "samples")):
            return False
    return True


def differences(told: m.Scenario, by: int, early: Site, late: Site, numbered: bool) -> tuple[list[Any], int]:
    """The first events that differ, and how many were compared."""
    now = later(told, BEGIN, early)
    then = later(told, BEGIN + by, late)
    first = [one for one in lived(now, build(early, references())) if one.at >= BEGIN]
    second = [one for one in lived(then, build(late, references())) if one.at >= BEGIN + by]
    unlike = [(a, b) for a, b in zip(first, second, strict=False) if not same(a, b, by, numbered)]
    if len(first) != len(second):
        unlike.append((len(first), len(second)))
    return unlike, len(first)


@pytest.mark.parametrize("batch", range(CASES // BATCH))
def test_with_its_clocks_a_story_can_be_told_at_any_time(batch: int) -> None:
    seen = 0
    for number in range(batch * BATCH, (batch + 1) * BATCH):
        told = story(number, 6 * S)
        site = untimed(told.site)
        unlike, count = differences(told, 1_234_567 + number, site, phases_later(site, 1_234_567 + number), True)
        assert not unlike, f"story {number}: {unlike[0]}"
        seen += count
    assert seen > 20 * BATCH


@pytest.mark.parametrize("batch", range(CASES // BATCH))
def test_on_the_same_clocks_a_story_can_be_told_whole_periods_later(batch: int) -> None:
    seen = 0
    for number in range(batch * BATCH, (batch + 1) * BATCH):
        told = story(number, 6 * S)
        site = without_chance(told.site, 2 * S)
        assert all(2 * S % node.sampling == 0 for node in (*site.transmitters, *site.wired_inputs))
        unlike, count = differences(told, 2 * S, site, site, False)
        assert not unlike, f"story {number}: {unlike[0]}"
        seen += count
    assert seen > 20 * BATCH


def test_half_a_scan_later_is_another_story() -> None:
    """The condition is needed: off the grid of the scans the law does not hold."""
    told = story(0, 6 * S)
    step = m.PressEdge(do="press", at=1_000, edge=told.site.edges[0].name)
    site = without_chance(told.site, 2 * S)
    unlike, _ = differences(replace(told, steps=(step,)), 2 * S + site.transmitters[0].sampling // 2, site, site, False)
    assert any(type(one.event) is e.LevelChanged for one, _ in unlike if isinstance(one, Stamped))
