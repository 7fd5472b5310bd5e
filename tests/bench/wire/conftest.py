"""A scenario on the wire, with a controller that plays it."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
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
PATIENT = Rules(lateness=500_000, lost_after=3_000_000, ready_within=20_000_000)
"""For a machine that does other things too: what is judged of a controller does not hang on this figure."""

Plays = Callable[[Address, Session], Awaitable[Any]]


async def reference(address: Address, session: Session) -> None:
    """The reference controller, polling every 10 ms."""
    await play(address, session.image.settings, default_roles().controller, 0.01)


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

    async def serve(scenario: Scenario, plays: Plays = reference, rules: Rules = PATIENT, *,
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
