"""Runs in real time: the third road gives the same verdicts, late is undetermined, a lost controller is said."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Awaitable, Callable
from contextlib import suppress
from pathlib import Path

import pytest

from gatesim.bench.wire import points as p
from gatesim.bench.wire.client import Client, Gone
from gatesim.bench.wire.live import BROKE, LOST, Rules, Spread, Watch, spread
from gatesim.bench.wire.peer import Peer, play
from gatesim.bench.wire.server import Address
from gatesim.bench.wire.session import OnWire, Session, on_loop
from gatesim.cli.codes import Exit
from gatesim.cli.commands.bench import _deliver
from gatesim.cli.talk import Talk
from gatesim.events import Run
from gatesim.report.bench_text import reactions
from gatesim.requirements.verdict import Outcome
from gatesim.run import default_roles, run_scenario

NAMES = sorted(path.name.partition(".")[0] for path in (Path(__file__).parents[3] / "scenarios" / "brief").glob("*"))

@pytest.mark.slow
def test_the_reference_controller_is_judged_the_same_over_the_wire(brief, on_wire, virtually) -> None:
    scenarios = [brief(name) for name in NAMES]
    inside = [run_scenario(scenario, default_roles(), keep=False) for scenario in scenarios]

    async def all_at_once() -> list[OnWire]:
        return await asyncio.gather(*(on_wire(scenario) for scenario in scenarios))

    outside = virtually(all_at_once)
    assert len(NAMES) >= 10
    for name, here, there in zip(NAMES, inside, outside, strict=True):
        assert (name, there.ending, there.result.differs) == (name, None, False)
        assert [(name, row.requirement, row.verdict.outcome, row.verdict.failure) for row in there.result.rows] == [
            (name, row.requirement, row.verdict.outcome, row.verdict.failure) for row in here.rows]
        assert there.power_cycles
        assert all(19_900 <= part.polls.median <= 20_100 for part in there.parts)


def test_a_reaction_over_the_wire_is_later_by_the_polls(brief, on_wire, virtually) -> None:
    scenario = brief("block-closing")
    here = {row.requirement: row.verdict for row in run_scenario(scenario, default_roles(), keep=False).rows}
    there = virtually(lambda: on_wire(scenario))
    told = {one.requirement: one for one in reactions(there)}
    for name in ("reversal-begun", "edge-alone-reversal-begun", "force-alone-reversal-begun"):
        later = told[name].measured - here[name].figures.measured
        # The reversal takes three reactions: the order ends, the standstill is seen, the pause is over.
        assert 0 < later <= 3 * told[name].uncertain
        assert told[name].uncertain >= 20_000


def test_later_than_allowed_is_undetermined_and_no_pass(brief, on_wire) -> None:
    done = on_loop(lambda: on_wire(brief("stop", 3_000_000), rules=Rules(lateness=1, lost_after=20_000_000, speed=3)))
    outcomes = {row.verdict.outcome for row in done.result.rows}
    assert done.parts[0].too_late
    assert outcomes == {Outcome.UNDETERMINED, Outcome.NOT_EXERCISED}
    assert "gatesim was late by" in next(
        row.verdict.reason for row in done.result.rows if row.verdict.outcome is Outcome.UNDETERMINED)


def test_what_is_not_played_again_is_undetermined(brief, on_wire, virtually) -> None:
    done = virtually(lambda: on_wire(brief("block-closing", 5_000_000), each_means=False))
    alone = [row for row in done.result.rows if row.requirement == "edge-alone-reversal-begun"]
    assert [row.verdict.outcome for row in alone] == [Outcome.UNDETERMINED]
    assert [part.run for part in done.parts] == [Run.WHOLE]


async def paused(seconds: float) -> None:
    """Let the others go on."""
    with suppress(TimeoutError):
        async with asyncio.timeout(seconds):
            await asyncio.Event().wait()


class Fails(Peer):
    """The reference, which stops doing something when the gate moves."""

    then: Callable[[Fails], Awaitable[None]]

    async def poll(self, at: float) -> None:
        await super().poll(at)
        if self._seen is not None and self._seen.motion is not None:
            await self.then()

    async def hangs(self) -> None:
        """It reads and writes nothing more, and keeps its connection."""
        await asyncio.Event().wait()

    async def leaves(self) -> None:
        """It closes its connection."""
        raise Gone("it leaves")

    async def only_reads(self) -> None:
        """Its program stands still, its coupler goes on."""
        while True:
            await self.client.inputs(0, 20)
            await paused(0.01)

    async def orders_both(self) -> None:
        """It lets go of all reason."""
        await self.client.write(p.ORDERS, [3])


def failing(how: str) -> Callable[[Address, Session], Awaitable[None]]:
    async def plays(address: Address, session: Session) -> None:
        client = await Client.to(address)
        peer = Fails(client, session.image.settings, default_roles().controller)
        peer.then = getattr(peer, how)

        async def polls() -> None:
            while True:
                await peer.poll(asyncio.get_running_loop().time())
                await paused(0.01)

        task = asyncio.ensure_future(polls())
        await asyncio.wait([task], timeout=3)
        task.cancel()
        await asyncio.wait([task])
        client.close()

    return plays


@pytest.mark.parametrize(("how", "what", "why"), [
    ("hangs", LOST, "heartbeat stood still"), ("leaves", LOST, "heartbeat stood still"),
    ("only_reads", LOST, "heartbeat stood still"), ("orders_both", BROKE, "both directions"),
])
def test_who_fails_ends_the_run_and_what_was_judged_stands(how, what, why, brief, on_wire, virtually, capsys) -> None:
    done = virtually(lambda: on_wire(brief("stop"), failing(how)))
    assert (done.ending.what, why in done.ending.why) == (what, True)
    # The gate is ordered to move at about 1 s, and a second without a heartbeat is allowed.
    assert done.ending.at == pytest.approx(1_150_000 if what is BROKE else 2_050_000, abs=100_000)
    assert {row.requirement: row.verdict.outcome for row in done.result.rows}["never-both-directions"] is Outcome.PASS
    assert _deliver(Talk(), "stop", done, True, None) == Exit.OUR_FAULT
    said = capsys.readouterr()
    assert json.loads(said.out)["outcome"] == what
    assert json.loads(said.out)["ended"]["at_us"] == done.ending.at
    assert f"gatesim: {what}" in said.err


def test_a_peer_sees_that_it_is_made_for_another_site(brief, virtually) -> None:
    other = brief("beam-closing")

    async def plays(address: Address, session: Session) -> str:
        with pytest.raises(Gone, match="another wiring"):
            await play(address, Session(other, default_roles(), Rules()).image.settings, default_roles().controller)
        return "seen"

    async def both() -> str:
        session = Session(brief("stop"), default_roles(), Rules())
        try:
            return await plays(await session.listen(Address("127.0.0.1", 0)), session)
        finally:
            session.close()

    assert virtually(both) == "seen"


def test_what_is_measured_is_told_plainly() -> None:
    assert spread([]) == Spread(0, None, None, None)
    assert spread(range(1, 201)) == Spread(200, 101, 199, 200)


def test_the_read_that_is_repeated_least_often_is_the_poll() -> None:
    watch = Watch()
    for k in range(100):
        watch.look(b"often", k * 0.01)
        if k % 5 == 0:
            watch.look(b"seldom", k * 0.01)
    watch.look(b"once", 0.5)
    assert watch.polls().median == 50_000


def test_who_does_not_look_is_lost_though_its_heart_beats() -> None:
    watch = Watch()
    assert watch.missing(0.9, 1, True, 1.0) == ""
    assert watch.missing(1.8, 2, True, 1.0) == "it read no input for more than 1 s"
    watch.look(b"", 1.8)
    assert watch.missing(1.9, 2, True, 1.0) == ""
    assert watch.missing(2.9, 2, True, 1.0) == "its heartbeat stood still for more than 1 s"


def test_who_does_not_see_the_power_up_is_lost() -> None:
    watch = Watch()
    watch.begin(5.0, 0)
    said = [watch.missing(5.0 + k / 2, k, False, 1.0) for k in range(4) if not watch.look(b"", 5.0 + k / 2)]
    assert said == ["", "", "", "it has not told within 1 s that it saw the power-up"]
