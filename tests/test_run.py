"""The shell around the event kernel: what the twins hold silent."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from gatesim.events import Command, Origin, Run
from gatesim.plant.build import build, built
from gatesim.plant.site import Site
from gatesim.plant.wires import BeamPath, ForceTrip, StripPressed
from gatesim.plant.world import World
from gatesim.requirements.judging import Row
from gatesim.run import Course, Pacer, RunResult, default_roles, run_scenario, silences
from gatesim.scenario import model as m
from gatesim.scenario.agenda import agenda
from gatesim.scenario.read import read_site

S = 1_000_000
SITE = read_site(Path(__file__).parents[1] / "scenarios" / "sites" / "ferry-steps.site.yaml")


def told(site: Site, position: float, at: int) -> RunResult:
    """Closing onto somebody who comes into the ray at this instant, and stays."""
    steps = (
        m.GiveCommand(do="command", at=S, command=Command.CLOSE, origin=Origin.RADIO),
        m.Obstruct(do="obstruct", at=at, obstruction="dummy", zone="closing gap", position=position,
                   interrupts=("drive beam",)),
    )
    placed = replace(site, leaf_at=site.gate.travel)
    return run_scenario(m.Scenario("", "", placed, 20 * S, steps, ()), default_roles())


def row(result: RunResult, name: str) -> Row:
    return next(row for row in result.rows if row.requirement == name)


def slow_edge() -> Site:
    """An edge that takes its press over only after three seconds."""
    inputs = tuple(replace(one, debounce=600, chatter_limit=100_000) for one in SITE.wired_inputs)
    return replace(SITE, wired_inputs=inputs)


@pytest.mark.parametrize(("run", "kind"), [(Run.EDGE_ALONE, ForceTrip), (Run.FORCE_ALONE, StripPressed)])
def test_both_twins_hold_the_rays_clear(run: Run, kind: type) -> None:
    wires = [type(begins.wire) for begins in silences(build(SITE, default_roles()), run)]
    assert set(wires) == {kind, BeamPath}
    assert wires.count(BeamPath) == 2


def test_a_beam_rescues_no_edge_in_the_twin() -> None:
    """The touch and the interruption come at once: as a whole the beam reverses the gate, by the edge nothing does."""
    result = told(slow_edge(), 4_500_000.0, 8 * S)
    assert row(result, "reversal-begun").verdict.outcome.value == "pass"
    assert row(result, "edge-alone-reversal-begun").verdict.failure in ("too late", "no reversal")
    assert row(told(SITE, 4_500_000.0, 8 * S), "edge-alone-reversal-begun").verdict.outcome.value == "pass"


def test_what_a_beam_had_stopped_before_is_no_pass_of_one_means() -> None:
    result = told(slow_edge(), 3_385_000.0, 8 * S)
    assert row(result, "reversal-begun").verdict.outcome.value == "pass"
    for name in ("edge-alone-reversal-begun", "edge-alone-travel-after-actuation", "force-alone-reversal-begun"):
        verdict = row(result, name).verdict
        assert verdict.outcome.value == "not exercised", name
        assert verdict.reason == "a beam had stopped the leaf before the touch"


def test_a_wall_clock_drives_the_same_run() -> None:
    """The pacer of a live run, asked now and then what is due, lives through the same instants as simpy alone."""
    scenario = m.Scenario("", "", replace(SITE, leaf_at=SITE.gate.travel), 12 * S, (
        m.GiveCommand(do="command", at=S, command=Command.CLOSE, origin=Origin.RADIO),), ())
    whole = run_scenario(scenario, default_roles()).sections[0].events
    plant = built(scenario.site, default_roles())
    events: list[tuple[float, object]] = []
    course = Course(plant, World(plant, scenario.seed), agenda(scenario), scenario.ends, None,
                    lambda _, at, event: events.append((at, event)))
    pacer = Pacer(course, lambda at, happened: None)
    for now in range(0, 12 * S, 7_001):
        pacer.until(now)
        pacer.outside(now)  # an instant in which nothing comes changes nothing
        assert pacer.due() > now
    pacer.until(scenario.ends)
    assert events == [tuple(stamped) for stamped in whole]
