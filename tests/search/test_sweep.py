"""Sweeps of shipped sites: exact rows against grids, replays, latent faults, and what a row may be."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from gatesim.cli import known
from gatesim.events import Direction, FoundBy, Level
from gatesim.plant.faults.catalogue import faults, place
from gatesim.plant.logic.controller_reference import ReferenceController
from gatesim.plant.loop_tables import StripKind
from gatesim.run import default_roles, run_scenario
from gatesim.scenario.read import read_site
from gatesim.search.classes import Class, expected
from gatesim.search.ground import Phase
from gatesim.search.moments import Coverage
from gatesim.search.path import Path as Decided
from gatesim.search.probe import INTERMITTENT, PERMANENT, PULSES, TRANSIENT, FaultProber
from gatesim.search.sweep import Bench, Order, Row, bench_for, in_turn, side_by_side, summed, worst_story
from gatesim.search.traced import Traced
from gatesim.units import us

SITES = Path(__file__).parents[2] / "scenarios" / "sites"


def row_of(bench: Bench, fault: str, device: str, direction: Direction, phase: Phase = Phase.TRAVEL,
           pulse: str = "permanent", budget: float | None = None) -> Row:
    task = next(
        task
        for task in bench.tasks([fault], PULSES)
        if task.device == device and task.pulse == pulse
        and (bench.grounds[task.ground].direction, bench.grounds[task.ground].phase) == (direction, phase)
    )
    return bench.row(task, budget)


@pytest.fixture(scope="module")
def lost(mill_lane) -> Row:
    return row_of(mill_lane, "lost-link", "front transmitter", Direction.CLOSING)


def prober_for(bench: Bench, row: Row) -> FaultProber:
    ground = next(one for one in bench.grounds if (one.direction, one.phase) == (row.direction, row.phase))
    return FaultProber(bench.plant, bench.site, bench.seed, ground, place(faults()[row.fault], bench.site, row.device))


@pytest.mark.slow
def test_a_lost_link_is_exact(lost) -> None:
    assert lost.coverage is Coverage.EXACT
    assert lost.outcome is Class.SAFE
    assert lost.gaps == ()
    assert lost.bound - lost.worst.measured <= 2
    # Far fewer runs than a 1 ms grid would take.
    assert lost.runs * 25 < (lost.window[1] - lost.window[0]) // 1000


@pytest.mark.slow
def test_no_moment_is_worse_than_the_exact_worst(mill_lane, lost) -> None:
    prober, chance = prober_for(mill_lane, lost), random.Random(3)
    moments = [*range(lost.worst.at - 60, lost.worst.at + 60), *(chance.randint(*lost.window) for _ in range(200))]
    excess = {}
    for moment in sorted(moments):
        told = prober(moment)
        assert told.what in (Class.SAFE, Class.NO_EFFECT)
        if told.reaction is not None:
            excess[moment] = us(told.reaction.measured) - told.reaction.limit
    worst = lost.worst.measured - lost.worst.limit
    assert max(excess.values()) == excess[lost.worst.at] == worst


@pytest.mark.slow
def test_an_open_loop_through_the_run_up_is_exact(mill_lane) -> None:
    """A stop in the run-up takes times that are not affine in the moment: the bound must hold there, too."""
    row = row_of(mill_lane, "loop-open", "front edge", Direction.CLOSING, Phase.START)
    assert row.coverage is Coverage.EXACT
    prober = prober_for(mill_lane, row)
    worst = max(
        us(told.reaction.measured) - told.reaction.limit
        for moment in range(row.window[0], row.window[1] + 1, 997)
        if (told := prober(moment)).reaction is not None
    )
    assert worst <= row.worst.measured - row.worst.limit


@pytest.mark.slow
def test_the_worst_moment_replays_to_the_microsecond(mill_lane, lost, tmp_path) -> None:
    (tmp_path / "sites").mkdir()
    site = tmp_path / "sites" / "mill-lane.site.yaml"
    site.write_text((SITES / "mill-lane.site.yaml").read_text())
    file = tmp_path / "worst.scenario.yaml"
    file.write_text(worst_story(mill_lane, lost, "sites/mill-lane.site.yaml"))
    result = run_scenario(known.scenario(str(file)), default_roles(), keep=False)
    assert not result.differs
    verdict = next(row.verdict for row in result.rows if row.requirement == lost.worst.requirement)
    assert verdict.figures.measured == lost.worst.measured


@pytest.mark.slow
def test_a_torn_edge_is_a_residual_risk_and_the_force_sensing_rescues(mill_lane, tmp_path) -> None:
    row = row_of(mill_lane, "edge-torn-loose", "front edge", Direction.CLOSING, budget=0.5)
    assert row.outcome is Class.LATENT
    assert row.residual
    assert not row.differs
    assert row.latent.edge == row.latent.tried
    assert row.latent.force == row.latent.whole == 0
    assert row.latent.rescued == row.latent.tried
    other = row_of(mill_lane, "edge-torn-loose", "front edge", Direction.OPENING, budget=0.5)
    assert other.outcome is Class.NO_EFFECT


@pytest.mark.slow
def test_a_budget_that_is_used_up_says_so(mill_lane) -> None:
    row = row_of(mill_lane, "loop-open", "rear edge", Direction.OPENING, budget=0.0)
    assert row.coverage is Coverage.INCOMPLETE
    assert row.bound is None
    assert row.gaps


@pytest.mark.slow
@pytest.mark.parametrize("phase", [Phase.BEFORE, Phase.REVERSAL, Phase.LOCKOUT, Phase.RESET, Phase.END])
@pytest.mark.parametrize("fault", ["loop-open", "lost-link"])
def test_every_phase_has_its_story(mill_lane, phase, fault) -> None:
    device = "front edge" if fault == "loop-open" else "front transmitter"
    row = row_of(mill_lane, fault, device, Direction.CLOSING, phase, budget=0.3)
    assert row.phase is phase
    assert row.outcome not in (Class.UNSAFE, Class.UNDETERMINED)
    assert row.runs >= 2


@pytest.mark.slow
def test_transient_and_intermittent_faults(mill_lane) -> None:
    for pulse in (TRANSIENT, INTERMITTENT):
        row = row_of(mill_lane, "loop-open", "front edge", Direction.CLOSING, pulse=pulse.title, budget=0.3)
        assert row.duration == pulse.title
        assert row.outcome is Class.SAFE


def test_what_may_come_of_a_fault() -> None:
    assert Class.LATENT not in expected(FoundBy.CONTINUOUSLY, guards=True, shows_late="")
    assert Class.LATENT in expected(FoundBy.CONTINUOUSLY, guards=True, shows_late="at the next stop")
    assert Class.LATENT in expected(FoundBy.NEVER, guards=True, shows_late="")
    for found in FoundBy:
        assert Class.UNSAFE not in expected(found, guards=True, shows_late="x")
        assert Class.LATE not in expected(found, guards=False, shows_late="x")
        assert Class.UNDETERMINED not in expected(found, guards=False, shows_late="x")


@pytest.mark.slow
def test_workers_give_the_same_rows(mill_lane) -> None:
    order = Order(mill_lane.site, None, 1, (Phase.START,), default_roles)
    bench = bench_for(order)
    tasks = bench.tasks(["lost-link"])
    alone = {(row.fault, row.device, row.direction): row for row in in_turn(bench, tasks, None)}
    for row in side_by_side(order, tasks, None, 2):
        same = alone[row.fault, row.device, row.direction]
        assert row._replace(seconds=0, reached=frozenset()) == same._replace(seconds=0, reached=frozenset())
    whole = summed("here", 1, alone.values(), 2, 1.0)
    assert whole.summary.missing == 2
    assert 0 < whole.summary.transitions_reached < whole.summary.transitions


@pytest.mark.slow
def test_a_broken_wire_of_a_strip_that_opens_when_pressed_is_answered_as_a_press() -> None:
    bench = Bench(read_site(SITES / "ferry-quay.site.yaml"), default_roles(), 1, [Phase.TRAVEL])
    edge = next(edge for edge in bench.site.edges if edge.strip is StripKind.OPENS)
    way = next(zone.direction for zone in bench.site.zones if zone.name == edge.zone)
    row = row_of(bench, "loop-open", edge.name, way, budget=0.5)
    assert row.outcome is Class.SAFE
    assert not row.differs


def test_a_run_that_is_given_up_is_undetermined(mill_lane, monkeypatch) -> None:
    monkeypatch.setattr("gatesim.search.probe.DEADLOCK", 3)
    ground = next(one for one in mill_lane.grounds if one.phase is Phase.TRAVEL)
    spot = place(faults()["sounder-dead"], mill_lane.site, "sounder")
    told = FaultProber(mill_lane.plant, mill_lane.site, 1, ground, spot)(ground.first + 1_000_000)
    assert told.what is Class.UNDETERMINED
    assert "given up" in told.why


@pytest.mark.slow
def test_a_wired_site_can_be_swept(orchard_row) -> None:
    edge = orchard_row.site.edges[0].name
    rows = [row_of(orchard_row, "loop-open", edge, direction, budget=0.3) for direction in Direction]
    assert {row.outcome for row in rows} <= {Class.SAFE, Class.NO_EFFECT}


@pytest.mark.slow
def test_logic_that_never_reacts_is_unsafe(mill_lane) -> None:
    """A controller for which every device is always in order: the sweep must say so."""

    class AllIsWell(ReferenceController):
        def step(self, state, seen, now):
            reports = tuple([one._replace(fresh=True, heard=True, level=Level.REST) for one in seen.reports])
            return super().step(state, seen._replace(reports=reports), now)

    roles = default_roles()._replace(controller=AllIsWell())
    bench = Bench(mill_lane.site, roles, 1, [Phase.TRAVEL])
    row = row_of(bench, "lost-link", "front transmitter", Direction.CLOSING, budget=0.5)
    assert row.outcome in (Class.UNSAFE, Class.LATE)
    assert row.differs
    assert PERMANENT.title == row.duration


def test_a_swinging_leaf_keeps_the_moment() -> None:
    """The arm's table is entered by a decision, not by a number that leaves the model."""
    bench = Bench(read_site(SITES / "kiln-court.site.yaml"), default_roles(), 1, [Phase.TRAVEL])
    ground = next(one for one in bench.grounds if one.direction is Direction.CLOSING)
    device = place(faults()["loop-open"], bench.site, "front edge")
    prober = FaultProber(bench.plant, bench.site, bench.seed, ground, device)
    path, middle = Decided(), (ground.first + ground.last) // 2
    told = prober(Traced(float(middle), 1.0, float(bench.period), path))
    assert told.reaction is not None
    assert path.left == ""
    claim = path.claim(ground.first - middle, ground.last - middle)
    assert claim.first < 0 or claim.last > 0
