"""A scenario on the wire, with a controller that plays it."""

from __future__ import annotations

import asyncio
import selectors
from collections.abc import Awaitable, Callable, Coroutine
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from gatesim.bench.wire.live import Rules
from gatesim.bench.wire.peer import play
from gatesim.bench.wire.server import Address
from gatesim.bench.wire.session import OnWire, Session
from gatesim.cli import known
from gatesim.run import default_roles
from gatesim.scenario.model import Scenario

BRIEF = Path(__file__).parents[3] / "scenarios" / "brief"
NEAR = Address("127.0.0.1", 0)
PLAIN = Rules()

class Jumps(selectors.SelectSelector):
    """Where nothing comes in, the clock jumps to the next timer instead of waiting for it.

    Both ends of every connection are in this process, and what one end of a loopback connection sends is there for the
    other at once: so nothing can come in while the clock stands.
    """

    now = 0.0

    def select(self, timeout: float | None = None) -> list[tuple[selectors.SelectorKey, int]]:
        ready = super().select(0)
        if not ready and timeout:
            self.now += timeout
        return ready


class Clock(asyncio.SelectorEventLoop):
    """An event loop with real sockets and a clock of its own, so that a busy machine is late at nothing."""

    def __init__(self) -> None:
        self.jumps = Jumps()
        super().__init__(self.jumps)

    def time(self) -> float:
        return self.jumps.now


Plays = Callable[[Address, Session], Awaitable[Any]]


async def reference(address: Address, session: Session) -> None:
    """The reference controller, polling every 20 ms."""
    await play(address, session.image.settings, default_roles().controller, 0.02)


@pytest.fixture
def virtually() -> Callable[..., Any]:
    """Run it in no time, by a clock that only says so."""

    def run(made: Callable[[], Coroutine[Any, Any, Any]]) -> Any:
        with asyncio.Runner(loop_factory=Clock) as runner:
            return runner.run(made())

    return run


@pytest.fixture
def brief() -> Callable[..., Scenario]:
    """A brief scenario that ships, or the beginning of it."""

    def read(name: str, ends: int | None = None) -> Scenario:
        scenario = known.scenario(BRIEF / f"{name}.scenario.yaml")
        return scenario if ends is None else replace(scenario, ends=ends)

    return read


@pytest.fixture
def on_wire() -> Callable[..., Any]:
    """Serve a scenario and let a controller play it."""

    async def serve(scenario: Scenario, plays: Plays = reference, rules: Rules = PLAIN, *,
                    each_means: bool = True) -> OnWire:
        session = Session(scenario, default_roles(), rules)
        where = await session.listen(NEAR)
        client = asyncio.ensure_future(plays(where, session))
        try:
            return await session.play(each_means=each_means)
        finally:
            session.close()
            await asyncio.wait_for(client, 10)

    return serve
