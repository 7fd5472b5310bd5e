"""Second faults at a shipped site: what a pair shows that neither fault shows alone, and what a row may claim."""

from __future__ import annotations

import pytest

from gatesim.events import Direction
from gatesim.plant.faults.catalogue import faults, place
from gatesim.search.classes import Class
from gatesim.search.ground import Phase
from gatesim.search.moments import Coverage
from gatesim.search.pairs import CONTACT, Paired, PairRow, Pairs, PairTask, SecondProber, When, in_turn
from gatesim.search.sweep import Bench
from gatesim.units import us

FRONT, LINK = "front edge", "front transmitter"


@pytest.fixture(scope="module")
def pairs(mill_lane) -> Pairs:
    return Pairs(mill_lane)


def closing(bench: Bench) -> int:
    return next(k for k, one in enumerate(bench.grounds)
                if (one.direction, one.phase) == (Direction.CLOSING, Phase.TRAVEL))


def row_of(pairs: Pairs, first: tuple[str, str], then: tuple[str, str], budget: float | None = None) -> PairRow:
    return pairs.row(PairTask(*first, *then, closing(pairs.bench)), budget)


def test_every_ordered_pair_and_a_contact_with_each(pairs) -> None:
    tasks = pairs.tasks(["lost-link", "force-sensing-mute"])
    here = [task for task in tasks if task.ground == closing(pairs.bench)]
    spots = {("lost-link", LINK), ("lost-link", "rear transmitter"), ("force-sensing-mute", "force sensing")}
    assert {task[:2] for task in here} == spots
    for spot in spots:
        assert {task[2:4] for task in here if task[:2] == spot} == (spots - {spot}) | {(CONTACT, "")}
    assert len(tasks) == len(set(tasks)) == 2 * 9


@pytest.mark.slow
def test_a_frozen_report_hides_a_lost_link(pairs) -> None:
    """Latent first: the frozen report does nothing that one sees, until the link goes and nobody notices."""
    row = row_of(pairs, ("report-frozen", FRONT), ("lost-link", LINK), 0.5)
    assert (row.when, row.first, row.second) == (When.LATENT, Class.NO_EFFECT, Class.SAFE)
    assert row.onset == pairs.bench.grounds[closing(pairs.bench)].first
    assert row.outcome is Class.UNSAFE
    assert row.graver
    assert "no reaction" in row.worst.why
    assert row.coverage is Coverage.INCOMPLETE
    assert row.bound is None
    assert row.gaps


@pytest.mark.slow
def test_both_means_gone_leave_nothing_for_a_contact(pairs) -> None:
    """Each is rescued by the other alone; the contact after the edge's loss tells of the force sensing."""
    alone = row_of(pairs, ("edge-torn-loose", FRONT), (CONTACT, ""))
    assert (alone.when, alone.coverage) == (When.LATENT, Coverage.SAMPLED)
    mute = row_of(pairs, ("force-sensing-mute", "force sensing"), (CONTACT, ""))
    assert mute.outcome is Class.SAFE
    assert not mute.graver
    both = row_of(pairs, ("edge-torn-loose", FRONT), ("force-sensing-mute", "force sensing"), 0.5)
    assert both.outcome is Class.NO_EFFECT  # until somebody stands there: that takes a third event


@pytest.mark.slow
def test_during_the_reaction_is_exact_and_no_moment_is_worse(pairs) -> None:
    row = row_of(pairs, ("lost-link", LINK), ("force-sensing-mute", "force sensing"))
    assert row.when is When.DURING
    assert row.coverage is Coverage.EXACT
    assert row.gaps == ()
    assert row.window[0] == row.onset + 1
    bench = pairs.bench
    ground = bench.grounds[closing(bench)]
    prober = SecondProber(bench, ground, place(faults()["lost-link"], bench.site, LINK), row.onset,
                          place(faults()["force-sensing-mute"], bench.site, "force sensing"))
    for moment in range(row.window[0], row.window[1], 41_003):
        told = prober(moment)
        assert told.what is row.outcome
        if told.reaction is not None:
            assert us(told.reaction.measured) - told.reaction.limit <= row.worst.measured - row.worst.limit
    assert us(prober(row.worst.at).reaction.measured) == row.worst.measured


@pytest.mark.slow
def test_a_contact_while_the_link_is_lost_but_not_found(pairs) -> None:
    row = row_of(pairs, ("lost-link", LINK), (CONTACT, ""))
    assert row.when is When.DURING
    assert row.outcome is Class.UNSAFE
    assert row.graver
    assert "travel-after-actuation" in row.worst.why


@pytest.mark.slow
def test_what_there_is_no_time_for_is_missing(pairs) -> None:
    tasks = [task for task in pairs.tasks(["lost-link"]) if task.ground == closing(pairs.bench)]
    rows = tuple(in_turn(pairs, tasks, 0.0))
    assert rows == ()
    some = tuple(in_turn(pairs, tasks, 0.3))
    assert 1 <= len(some) <= len(tasks)
    paired = Paired(some, len(tasks) - len(some))
    assert not paired.differs
    odd = some[0]._replace(outcome=Class.UNDETERMINED)
    assert Paired((odd,), 0).differs
    assert not odd.graver


@pytest.mark.parametrize(("outcome", "graver"), [
    (Class.UNSAFE, True), (Class.LATE, True), (Class.LATENT, True), (Class.NUISANCE, False), (Class.SAFE, False)])
def test_graver_than_each_alone(pairs, outcome, graver) -> None:
    row = PairRow("a", "b", "c", "d", Direction.CLOSING, None, When.LATENT, 0, Class.NO_EFFECT, Class.SAFE, outcome,
                  None, None, 0, Coverage.SAMPLED, "", (), (0, 1), 0.0)
    assert row.graver is graver
    assert not row._replace(first=Class.UNSAFE).graver
