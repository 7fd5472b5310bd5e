"""Two leaves against integrated motion: when the second may start, where the first stands, how long all takes.

The reference is scipy's solve_ivp on the equations of uniformly accelerated motion, with its own root finder for the
crossings.  Nothing of the plant is used in it.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from scipy.integrate import solve_ivp

from gatesim import events as e
from gatesim.cli import known
from gatesim.events import Direction, LeafName, Stamped
from gatesim.run import default_roles, run_scenario
from gatesim.scenario import model as m

COURT = known.site(Path(__file__).parents[2] / "scenarios" / "sites" / "foundry-court.site.yaml")
SECONDS, MM = 1e6, 1e3


def lived(first: float, second: float, *steps: m.GiveCommand) -> list[Stamped]:
    """What happens from leaves that stand there (um)."""
    assert COURT.second_leaf is not None
    # Slow zones so short that the first leaf comes to the overlap at full speed.
    drive = replace(COURT.drive, slow_zone=100_000.0)
    site = replace(COURT, drive=drive, leaf_at=first, second_leaf=replace(COURT.second_leaf, leaf_at=second))
    told = m.Scenario("", "", site, 40_000_000, steps, ())
    return list(run_scenario(told, default_roles()).sections[0].events)


def give(command: e.Command, at: int = 1_000_000) -> m.GiveCommand:
    return m.GiveCommand(do="command", at=at, command=command)


def crossing(place: float, top: float, rate: float) -> float:
    """Seconds from rest until a leaf that speeds up at `rate` to `top` has gone `place` (m)."""

    def there(t: float, y: list[float]) -> float:
        return float(y[0]) - place

    there.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(lambda t, y: [y[1], rate if y[1] < top else 0.0], (0, 60), [0.0, 0.0], events=there,
                      max_step=1e-3, rtol=1e-9, atol=1e-12)
    return float(found.t_events[0][0])


def test_the_second_leaf_starts_when_the_first_has_left_the_overlap() -> None:
    seen = lived(0.0, 0.0, give(e.Command.OPEN))
    on = [at for at, event in seen if type(event) is e.ContactorsChanged and event.opening][:2]
    drive, table = COURT.drive, COURT.second_leaf
    assert table is not None
    wanted = drive.start_delay / SECONDS + crossing(table.overlap / 1e6, drive.speed_opening, drive.acceleration * 1e6)
    assert (on[1] - on[0]) / SECONDS == pytest.approx(wanted, abs=0.5e-3)


def test_the_first_leaf_stands_at_the_overlap_while_the_second_still_closes() -> None:
    """From its waiting place on: speed kept for the stopping delay, then constant slowing to rest."""
    seen = lived(900_000.0, 1_500_000.0, give(e.Command.CLOSE))
    stopped = next(event for _, event in seen if type(event) is e.LeafStopped and event.leaf is LeafName.FIRST)
    off = next(at for at, event in seen if type(event) is e.ContactorsChanged and event.leaf is LeafName.FIRST
               and not event.closing)
    began = next(at for at, event in seen if type(event) is e.LeafStarted and event.leaf is LeafName.FIRST)
    drive = COURT.drive

    def at_rest(t: float, y: list[float]) -> float:
        return float(y[1]) - 1e-9

    at_rest.terminal = True  # type: ignore[attr-defined]
    v, rate = drive.speed_closing, drive.acceleration * 1e6
    ramp = v / rate
    way = v * v / (2 * rate) + v * ((off - began) / SECONDS - ramp)
    delay, slowing = drive.stopping_delay / SECONDS, drive.stopping_deceleration * 1e6
    slow = solve_ivp(lambda t, y: [y[1], 0.0 if t < delay else -slowing], (0, 5), [way, v], events=at_rest,
                     max_step=1e-3, rtol=1e-9, atol=1e-12)
    assert stopped.x / MM == pytest.approx(900.0 - float(slow.y_events[0][0][0]) * 1000, abs=0.1)
    assert stopped.x / MM == pytest.approx(250.0, abs=0.1)


def test_the_reversal_counts_the_clear_opening() -> None:
    """At the end of the reversal's order both leaves together have gone back by the site's distance."""
    steps = (give(e.Command.CLOSE), m.PressEdge(do="press", at=3_000_000, edge="second front edge", held=400_000))
    assert COURT.second_leaf is not None
    site = replace(COURT, leaf_at=900_000.0, second_leaf=replace(COURT.second_leaf, leaf_at=700_000.0))
    told = m.Scenario("", "", site, 20_000_000, steps, ())
    seen = list(run_scenario(told, default_roles()).sections[0].events)
    orders = [(at, event.order) for at, event in seen if type(event) is e.OrdersChanged]
    back = next(k for k, (_, order) in enumerate(orders) if order is Direction.OPENING)
    begun, ended = orders[back][0], next(at for at, order in orders[back:] if order is None)
    drive = COURT.drive
    going = (ended - begun - drive.start_delay) / SECONDS
    solved = solve_ivp(lambda t, y: [y[1], drive.acceleration * 1e6 if y[1] < drive.speed_opening else 0.0],
                       (0, going), [0.0, 0.0], max_step=1e-3, rtol=1e-9, atol=1e-12)
    assert 2 * float(solved.y[0][-1]) == pytest.approx(COURT.controller.reversal_distance / 1e6, abs=2e-4)
