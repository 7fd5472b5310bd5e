"""A scenario on the wire: the server, the wait for a controller, the whole run, each means alone, the verdicts."""

from __future__ import annotations

import asyncio
import selectors
from collections.abc import Callable, Coroutine
from typing import Any, NamedTuple, TypeVar

from gatesim.bench.wire.image import Image
from gatesim.bench.wire.live import Ending, Live, Played, Rules, Spread, Twin
from gatesim.bench.wire.modbus import WRITES
from gatesim.bench.wire.server import Address, Server, Traffic
from gatesim.errors import LogicError
from gatesim.events import Run
from gatesim.plant.logic.contract import Roles
from gatesim.plant.operator import controller_settings
from gatesim.requirements.judging import Judge, Judged, compare
from gatesim.requirements.verdict import Outcome, Verdict
from gatesim.run import NOT_CYCLED, TWINS, RunResult, of_power_loss
from gatesim.scenario.model import Scenario

T = TypeVar("T")
BEATS = 2
"""Heartbeats that show that a controller has seen that a run is announced."""


class Part(NamedTuple):
    """The timing of one live run."""

    run: Run
    touch: int
    """Of a run for one means alone: which touch it is for (from 1)."""
    lateness: Spread
    polls: Spread
    too_late: bool


class OnWire(NamedTuple):
    """What came of a scenario on the wire; with an `ending` it could not be played to its end."""

    result: RunResult
    parts: tuple[Part, ...]
    ending: Ending | None
    rules: Rules
    traffic: Traffic
    power_cycles: bool


class Session:
    """A server for one scenario."""

    def __init__(self, scenario: Scenario, roles: Roles, rules: Rules, seed: int | None = None) -> None:
        self.scenario, self.roles, self.rules = scenario, roles, rules
        self.seed = scenario.seed if seed is None else seed
        self.image = Image(controller_settings(scenario.site))
        self.server = Server(self.image, self._before, self._after)
        self._live: Live | None = None
        self._changes = 0

    async def listen(self, address: Address) -> Address:
        """Begin to listen; where."""
        return await self.server.listen(address)

    def close(self) -> None:
        """Stop listening and end all connections."""
        self.server.close()

    def _before(self, pdu: bytes) -> None:
        if self._live is not None:
            self._live.before(pdu)

    def _after(self, pdu: bytes) -> None:
        # What the heartbeat does is no output.
        if self._live is not None and pdu[0] in WRITES and self.image.changes != self._changes:
            self._changes = self.image.changes
            self._live.after()

    async def play(self, *, each_means: bool = True, say: Callable[[str], None] | None = None) -> OnWire:
        """The whole run, and then once more for each means alone at each touch, with the controller that is there.

        Raises LogicError where no controller comes, or where it puts out what no controller may.
        """
        whole = await self._one(None)
        played = [(Run.WHOLE, 0, whole)]
        twins = [Twin(run, touch) for run in TWINS for touch in range(1, whole.touches + 1)] if each_means else []
        for number, twin in enumerate(twins, 1):
            if any(one.ending for _, _, one in played):
                break
            if say is not None:
                say(f"once more for {twin.run.value}, touch {twin.touch} ({number} of {len(twins)})")
            played.append((twin.run, twin.touch, await self._one(twin)))
        return self._judged(played)

    async def _one(self, twin: Twin | None) -> Played:
        # Made before the controller is waited for: it takes longer than some wait for an answer.
        live = Live(self.scenario, self.seed, self.roles, self.image, self.rules, twin)
        self.image.run_begins()
        await self._ready()
        self._live = live
        try:
            return await live.play()
        finally:
            self._live = None

    async def _ready(self) -> None:
        """Wait for a controller whose heart beats."""
        beats, loop = self.image.beats, asyncio.get_running_loop()
        until = loop.time() + self.rules.ready_within / 1e6
        while self.image.beats < beats + BEATS:
            if loop.time() > until:
                how = "its heartbeat does not move" if self.server.traffic.open else "nobody is connected"
                raise LogicError(f"no controller was ready within {self.rules.ready_within / 1e6:g} s: {how}")
            await asyncio.sleep(0.002)

    def _judged(self, played: list[tuple[Run, int, Played]]) -> OnWire:
        scenario, rules = self.scenario, self.rules
        parts = tuple([Part(run, touch, one.lateness, one.polls, (one.lateness.most or 0) > rules.lateness)
                       for run, touch, one in played])
        judged: list[Judged] = []
        for part, (run, touch, one) in zip(parts, played, strict=True):
            verdicts = one.verdicts
            if not one.reached:
                verdicts = _all_undetermined(self.scenario, run, f"touch {touch} did not come again")
            elif part.too_late:
                verdicts = {name: _late(verdict, part, rules) for name, verdict in verdicts.items()}
            judged.append((run, verdicts))
        if not self.image.echoed:
            judged[0][1].update(dict.fromkeys(of_power_loss(), Verdict(Outcome.NOT_EXERCISED, reason=NOT_CYCLED)))
        self._what_lacks(judged, played)
        rows = compare(scenario.site, scenario.expect, judged)
        sections = tuple([one.section for _, _, one in played])
        result = RunResult(scenario, self.seed, sections, rows, any(row.differs for row in rows))
        ending = next((one.ending for _, _, one in played if one.ending), None)
        return OnWire(result, parts, ending, rules, self.server.traffic, self.image.echoed)

    def _what_lacks(self, judged: list[Judged], played: list[tuple[Run, int, Played]]) -> None:
        """Something was touched and was not played again: what is asked of one means alone is undetermined."""
        for run in TWINS:
            missing = played[0][2].touches - sum(one is run for one, _ in judged)
            if missing > 0:
                why = "it was not played again with the other means silent"
                judged.append((run, _all_undetermined(self.scenario, run, why)))


def _all_undetermined(scenario: Scenario, run: Run, why: str) -> dict[str, Verdict]:
    judge = Judge.begin(scenario.site, scenario.expect).twin(run)
    return {monitor.id: Verdict(Outcome.UNDETERMINED, reason=why) for monitor in judge.monitors}


def _late(verdict: Verdict, part: Part, rules: Rules) -> Verdict:
    if verdict.outcome is Outcome.NOT_EXERCISED:
        return verdict
    why = f"gatesim was late by {(part.lateness.most or 0) / 1000:.1f} ms, and {rules.lateness / 1000:g} ms are allowed"
    return verdict._replace(outcome=Outcome.UNDETERMINED, failure=None, reason=why)


def on_loop(made: Callable[[], Coroutine[Any, Any, T]]) -> T:
    """Run it on an event loop whose timers are finer than a millisecond."""
    with asyncio.Runner(loop_factory=lambda: asyncio.SelectorEventLoop(selectors.SelectSelector())) as runner:
        return runner.run(made())
