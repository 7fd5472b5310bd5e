"""Combinations of flags at shipped sites: what meets, one run against the probe, and logic that must be caught."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from gatesim.events import Level
from gatesim.plant.faults.catalogue import faults, place
from gatesim.plant.logic.controller_reference import ReferenceController
from gatesim.run import default_roles
from gatesim.search.classes import Class
from gatesim.search.ground import Phase
from gatesim.search.probe import FaultProber
from gatesim.search.sweep import Bench
from gatesim.search.ways import HEALTHY, Combiner, Ways

sys.path.insert(0, str(Path(__file__).parent))

from test_covering import missing


@pytest.fixture(scope="module")
def combiner(mill_lane) -> Combiner:
    return Combiner(mill_lane.site, default_roles(), 1)


def healthy(combiner: Combiner, **values: str) -> dict[str, str]:
    return {factor.name: factor.values[0] for factor in combiner.factors()} | values


def test_every_device_and_flag_is_a_factor(combiner) -> None:
    names = [factor.name for factor in combiner.factors()]
    assert names == ["front edge", "rear edge", "front transmitter", "rear transmitter", "force sensing", "direction",
                     "phase", "origin", "profile"]
    assert all(len(factor.values) > 1 for factor in combiner.factors())


@pytest.mark.slow
def test_every_two_flags_meet(combiner) -> None:
    rows = list(combiner.rows(2))
    assert len(rows) == combiner.count(2)
    factors = combiner.factors()
    array = [tuple(factor.values.index(row.values[factor.name]) for factor in factors) for row in rows]
    assert missing(array, [len(factor.values) for factor in factors], 2) == []
    assert {row.outcome for row in rows} <= {Class.SAFE, Class.NO_EFFECT, Class.NUISANCE}
    assert not Ways(2, factors, tuple(rows), 0).differs


@pytest.mark.slow
def test_one_fault_is_the_probe(combiner, mill_lane: Bench) -> None:
    values = {"front edge": "loop-open", "direction": "closing", "phase": Phase.TRAVEL.value}
    row = combiner.row(healthy(combiner) | values)
    ground = next(one for one in mill_lane.grounds
                  if (one.direction.value, one.phase) == ("closing", Phase.TRAVEL))
    prober = FaultProber(mill_lane.plant, mill_lane.site, 1, ground,
                         place(faults()["loop-open"], mill_lane.site, "front edge"))
    told = prober(row.at)
    assert (row.outcome, row.worst.measured) == (told.what, told.reaction.measured)


@pytest.mark.slow
def test_nothing_faulty_has_no_effect(combiner) -> None:
    for phase in (Phase.START, Phase.TRAVEL, Phase.END):
        row = combiner.row(healthy(combiner, phase=phase.value))
        assert HEALTHY in row.values.values()
        assert (row.outcome, row.worst) == (Class.NO_EFFECT, None)


@pytest.mark.slow
def test_logic_that_never_reacts_is_caught(mill_lane) -> None:
    class AllIsWell(ReferenceController):
        def step(self, state, seen, now):
            reports = tuple([one._replace(fresh=True, heard=True, level=Level.REST) for one in seen.reports])
            return super().step(state, seen._replace(reports=reports), now)

    rows = tuple(Combiner(mill_lane.site, default_roles()._replace(controller=AllIsWell()), 1).rows(2))
    assert Ways(2, (), rows, 0).differs


def test_a_budget_that_is_used_up_leaves_some_out(combiner) -> None:
    assert list(combiner.rows(2, budget=-1.0)) == []
