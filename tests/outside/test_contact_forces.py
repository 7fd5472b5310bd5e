"""Contact on a whole site against an integrator and plain interpolation: impact, force over time, residual squeeze.

The reference side uses scipy and numpy, the site's own figures, and where the leaf was; nothing of the product's
contact.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from gatesim import events as e
from gatesim.events import Command
from gatesim.plant.site import CurvePoint, Drive, Edge, Profile, Site
from gatesim.run import RunResult
from gatesim.scenario import model as m

sys.path.insert(0, str(Path(__file__).parent))

from published_runs import S, command, site_of, told

PLACE = 2_000_000.0
POINTS = ((8.0, 50.0), (20.0, 60.0), (24.0, 170.0), (58.0, 260.0))
"""A curve of our own (mm, N), with a soft stretch and a hard one."""


def tannery(**drive: Any) -> Site:
    site = site_of("tannery-lane")
    return replace(site, drive=replace(site.drive, **drive))


def with_edges(site: Site, **other: Any) -> Site:
    points = tuple(CurvePoint(deep * 1e3, force * 1e3) for deep, force in POINTS)
    edges = tuple(replace(edge, curve=points, full_force=260_000.0, **other) for edge in site.edges)
    return replace(site, edges=edges)


def closing(site: Site, ends: int = 40 * S, at: float = PLACE, **other: Any) -> RunResult:
    """A closing from the open stop onto an obstruction."""
    post = m.Obstruct(do="obstruct", at=0, obstruction="post", zone="closing gap", position=at, **other)
    return told(replace(site, leaf_at=site.gate.travel), [post, command(S, Command.CLOSE)], ends)


def events(result: RunResult, kind: type) -> list[tuple[float, Any]]:
    return [(at, event) for at, event in result.sections[0].events if type(event) is kind]


def measured(result: RunResult, requirement: str) -> float:
    row = next(row for row in result.rows if row.requirement == requirement)
    assert row.verdict.figures.measured is not None, row.verdict.reason
    return row.verdict.figures.measured


# --- impact ----------------------------------------------------------------------------------------------------------


def struck(drive: Drive, mass: float, stiffness: float, free: float | None = None) -> float:
    """Peak force (N) by integration: a drive that holds the speed with what it takes, up to its stall force, and leaf
    and gear on a spring (N/mm); a free obstruction (kg) begins to move where the stall force is reached."""
    force, k, v = drive.stall_force / 1e3, stiffness * 1e3, drive.speed_closing
    left = [0.0, v, 0.0, 0.0]

    def moves(_: float, y: list[float]) -> list[float]:
        spring = force + k * (y[0] - y[2])
        return [y[1], (force - spring) / mass, y[3], 0.0 if free is None else (spring - force) / free]

    def deepest(_: float, y: list[float]) -> float:
        return y[1] - y[3]

    deepest.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(moves, (0, 1), left, events=deepest, rtol=1e-10, atol=1e-12)
    last = found.y_events[0][0]
    return force + k * (last[0] - last[2])


@pytest.mark.parametrize(("gauge", "stall", "free"), [
    (None, 700.0, None), (500.0, 700.0, None), (500.0, 300.0, None), (500.0, 700.0, 40.0), (None, 300.0, 200.0)])
def test_the_peak_on_springs_with_the_drive_behind(gauge: float | None, stall: float, free: float | None) -> None:
    site = replace(tannery(stall_force=stall * 1e3, force_limit=stall * 1e3, force_dwell=S), instrument_stiffness=gauge)
    other = {} if free is None else {"stands": m.Stands.FREE, "mass": free}
    result = closing(site, 20 * S, touches=m.Touches.LEAF, **other)
    peak = max(event.force for _, event in events(result, e.ForcePeaked)) / 1e3
    mass = site.gate.mass + site.drive.reflected_mass
    stiffness = 500.0 if gauge is None else 1 / (1 / 500.0 + 1 / gauge)
    assert peak == pytest.approx(struck(site.drive, mass, stiffness, free), rel=1e-6)
    # A drive that pushes with its stall force from the first touch on, and so speeds up: F + sqrt(F^2 + k m v^2).
    moved = mass if free is None else mass * free / (mass + free)
    kinetic = stiffness * 1e3 * moved * site.drive.speed_closing**2
    assert stall + math.sqrt(kinetic) == pytest.approx(peak, rel=1e-9)
    assert peak <= stall + math.sqrt(stall**2 + kinetic) <= peak + stall


# --- force over time -------------------------------------------------------------------------------------------------


def places(result: RunResult, times: np.ndarray) -> np.ndarray:
    """Where the leaf was (mm), from the pieces of its motion."""
    found = np.full_like(times, math.nan)
    for at, event in events(result, e.MotionChanged):
        since = times - at
        here = event.x + (event.v + event.a * since / 2) * since
        found = np.where(since >= 0, here, found)
    return found / 1e3


def series(edge: Edge, gauge: float | None, soft: float | None) -> Callable[[np.ndarray], np.ndarray]:
    """Force (N) over the leaf's way past first touch (mm): edge, gauge and obstruction in series, tabulated."""
    factor = 1 + edge.stiffening
    forces = np.linspace(0.0, 260.0 * factor, 400_001)
    ways = np.interp(forces, [0.0, *(force * factor for _, force in POINTS)], [0.0, *(deep for deep, _ in POINTS)])
    ways += forces * ((1 / gauge if gauge else 0.0) + (1 / soft if soft else 0.0))
    return lambda way: np.interp(way, ways, forces, left=0.0)


@cache
def pressed(stiffening: float, gauge: float | None, soft: float | None, speed: float) -> tuple[RunResult, Site]:
    # The heavier brake of a slow gate: it stays on the curve.
    site = with_edges(tannery(speed_closing=speed, force_limit=700_000.0, stopping_delay=60_000), stiffening=stiffening)
    site = replace(site, instrument_stiffness=gauge, limits=Profile.PROVED_FORCE)
    return closing(site, stiffness=soft), site


@pytest.mark.parametrize("case", [(0.0, None, None, 0.2), (0.0, 500.0, None, 0.2), (0.5, 500.0, 40.0, 0.22),
                                  (1.0, None, None, 0.15), (1.67, None, 100.0, 0.18)])
def test_peak_and_times_on_a_curve_of_many_points(case: tuple[float, float | None, float | None, float]) -> None:
    result, site = pressed(*case)
    times = np.arange(10 * S, 30 * S, 5.0)
    force = series(site.edges[0], case[1], case[2])(PLACE / 1e3 - places(result, times))
    assert 150 < force.max() < 260 * (1 + case[0]), "the case tests nothing"
    assert measured(result, "peak-force") / 1e3 == pytest.approx(force.max(), rel=1e-4)
    above = 5.0 * np.count_nonzero(force > 150)
    assert measured(result, "time-above-150-n") == pytest.approx(above, abs=25)
    stands = events(result, e.LeafStopped)[0][0]
    squeezed = times[(force > 25) & (times > stands)].max() - stands
    assert measured(result, "residual-squeeze-ends") == pytest.approx(squeezed, abs=25)


def test_the_crush_gap_rules_the_limit() -> None:
    """dhf on EN 12453: 400 N in gaps below 500 mm, 1400 N in wider ones: the same blow at both sides of the border."""
    hard = replace(tannery(force_limit=700_000.0, force_dwell=S), instrument_stiffness=None)
    for place, limit in ((499_999.0, 400_000), (500_000.0, 1_400_000)):
        result = closing(hard, at=place, touches=m.Touches.LEAF)
        row = next(row for row in result.rows if row.requirement == "peak-force")
        assert row.verdict.figures.limit == limit
        assert row.verdict.figures.measured == pytest.approx(700_000 + 1e3 * math.sqrt(500e3 * 480) * 0.15, abs=1)


def test_a_self_locking_gear_keeps_what_the_curve_has_at_standstill() -> None:
    """Stopped by hand before the edge has actuated: 20 mm, begun 14 mm before the touch; held to the end."""
    site = with_edges(tannery())
    moving = 0.15 * site.drive.stopping_delay + 0.15**2 / (2 * 0.9e-6)
    result = closing(site, 60 * S)
    touch = events(result, e.ContactBegan)[0][0]
    stop = round(touch - 14_000 / 0.15)
    steps: list[m.AnyStep] = [
        m.Obstruct(do="obstruct", at=0, obstruction="post", zone="closing gap", position=PLACE),
        command(S, Command.CLOSE), m.GiveCommand(do="command", at=stop, command=Command.STOP)]
    held = told(replace(site, leaf_at=site.gate.travel), steps, 60 * S)
    ((_, stopped),) = events(held, e.LeafStopped)
    assert (PLACE - stopped.x) / 1e3 == pytest.approx(moving / 1e3 - 14, abs=1e-3)
    stays = series(site.edges[0], 500.0, None)(np.array([moving / 1e3 - 14]))[0]
    assert events(held, e.ForcePeaked)[0][1].force / 1e3 == pytest.approx(stays, rel=1e-4)
    row = next(row for row in held.rows if row.requirement == "residual-squeeze-ends")
    assert (row.verdict.failure, stays > 25) == ("squeeze held", True)
