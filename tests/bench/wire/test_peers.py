"""Peers that we did not write: Debian's libmodbus and mbpoll, npm's modbus-serial.

The two libraries drive the gate in the example controllers of docs/examples/wire, in real time, and from fault to
reversal is measured.
"""

from __future__ import annotations

import asyncio
import os
import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from gatesim.bench.wire import points as p
from gatesim.bench.wire.live import Rules
from gatesim.bench.wire.server import Address
from gatesim.bench.wire.session import OnWire, Session, on_loop
from gatesim.events import Direction, EdgeActuated, LeafStarted, OrdersChanged
from gatesim.report.bench_text import reactions
from gatesim.requirements.verdict import Outcome
from gatesim.run import default_roles
from gatesim.trace import Trace

EXAMPLES = Path(__file__).parents[3] / "docs" / "examples" / "wire"
RULES = Rules(lateness=1_000_000, lost_after=3_000_000, ready_within=30_000_000)
"""In real time on a machine that does other things too: what is judged here has a second and more to spare."""

FLAGS = ["-std=c11", "-D_POSIX_C_SOURCE=200809L", "-O2", "-Wall", "-Wextra", "-Werror", "-fsanitize=undefined",
         "-fno-sanitize-recover"]


def missing(name: str) -> None:
    """Skip by name; under CI nothing may be missing."""
    if os.environ.get("CI") == "true":
        pytest.fail(f"{name} is not here, and under CI=true this may not be skipped")
    pytest.skip(f"{name} is not here")


def tool(name: str) -> str:
    return shutil.which(name) or missing(name) or ""


@pytest.fixture(scope="module")
def in_c(tmp_path_factory) -> list[str]:
    """The example for libmodbus, compiled with every warning an error."""
    found = subprocess.run([tool("pkg-config"), "--cflags", "--libs", "libmodbus"], capture_output=True, text=True,
                           check=False)
    if found.returncode:
        missing("libmodbus-dev")
    place = str(tmp_path_factory.mktemp("wire") / "gate")
    subprocess.run([tool("gcc"), *FLAGS, "-o", place, str(EXAMPLES / "gate.c"), *found.stdout.split()], check=True)
    return [place]


@pytest.fixture(scope="module")
def in_javascript() -> list[str]:
    """The example for modbus-serial, which is found through NODE_PATH."""
    node = tool("node")
    if subprocess.run([node, "-e", "require('modbus-serial')"], capture_output=True, check=False).returncode:
        missing("npm's modbus-serial (through NODE_PATH)")
    return [node, str(EXAMPLES / "gate.js")]


async def program(command: list[str], address: Address, session: Session) -> str:
    """Let a program play until the server closes; its last words.  None is killed, and none may crash."""
    process = await asyncio.create_subprocess_exec(
        *command, address.host, str(address.port), f"{session.image.map.digest:08x}", stdin=asyncio.subprocess.DEVNULL,
        stdout=asyncio.subprocess.PIPE, stderr=asyncio.subprocess.STDOUT)
    try:
        said = (await process.communicate())[0].decode()
        assert process.returncode in (0, 3), f"ended with {process.returncode}: {said}"
        return said
    except asyncio.CancelledError:
        process.kill()
        raise


def reversal(done: OnWire) -> tuple[float, float]:
    """From the press to the order that ends, and to the leaf that goes back (ms)."""
    trace = Trace(done.result.sections[0].events)
    pressed, _ = trace.first(EdgeActuated) or (0.0, None)
    ended = next(at for at, event in trace.of(OrdersChanged) if at > pressed and event.order is None)
    back = next(at for at, event in trace.of(LeafStarted) if at > pressed and event.direction is Direction.OPENING)
    return (ended - pressed) / 1000, (back - pressed) / 1000


@pytest.mark.slow
def test_two_foreign_clients_drive_the_gate_and_reverse_it(in_c, in_javascript, brief, on_wire) -> None:
    scenario = brief("block-closing", 7_500_000)

    async def both() -> list[OnWire]:
        return await asyncio.gather(*(
            on_wire(scenario, lambda address, session, one=one: program(one, address, session), RULES, each_means=False)
            for one in (in_c, in_javascript)))

    for done in on_loop(both):
        assert done.ending is None
        got = {row.requirement: row.verdict for row in done.result.rows}
        for name in ("reversal-begun", "reversal-after-standstill", "never-both-directions"):
            assert got[name].outcome is Outcome.PASS, got[name]
        assert done.traffic.exceptions == done.traffic.broken == 0
        poll = done.parts[0].polls
        assert poll.number > 100
        assert poll.median > 5_000  # it pauses for so long in between
        told = {one.requirement: one for one in reactions(done)}["reversal-begun"]
        assert told.uncertain >= poll.most
        stops, turns = reversal(done)
        # Two samples of 10 ms and a frame are before it, and then at least a poll.  The upper figure is the limit.
        assert 20 < stops < turns < 2_000
        assert abs(turns - told.measured / 1000) < 200  # the requirement counts from the touch


def test_a_foreign_client_is_refused_by_another_site(in_c, brief) -> None:
    async def refused() -> str:
        session = Session(brief("beam-closing"), default_roles(), RULES)
        other = Session(brief("stop"), default_roles(), RULES)
        try:
            return await program(in_c, await session.listen(Address("127.0.0.1", 0)), other)
        finally:
            session.close()

    assert on_loop(refused) == "the server has another wiring\n"


@pytest.fixture
def mbpoll(brief) -> Callable[..., tuple[str, Session]]:
    """What mbpoll says to a server; its addresses count from 1 unless told otherwise (-0)."""
    name = tool("mbpoll")

    def ask(*args: str) -> tuple[str, Session]:
        async def asked() -> tuple[str, Session]:
            session = Session(brief("stop"), default_roles(), RULES)
            where = await session.listen(Address("127.0.0.1", 0))
            try:
                process = await asyncio.create_subprocess_exec(
                    name, "-m", "tcp", "-p", str(where.port), "-0", "-1", "-q", *args[:-1], where.host,
                    *args[-1].split(),
                    stdin=asyncio.subprocess.DEVNULL, stdout=asyncio.subprocess.PIPE, stderr=asyncio.subprocess.STDOUT)
                return (await asyncio.wait_for(process.communicate(), 20))[0].decode(), session
            finally:
                session.close()

        return on_loop(asked)

    return ask


def values(said: str) -> list[int]:
    """The figures of `[3]: <tab> 25`, or of a value with its sign form behind it."""
    return [int(found) for found in re.findall(r"^\[\d+\]:\s+(\d+)", said, re.MULTILINE)]


def test_mbpoll_reads_the_identity(mbpoll) -> None:
    said, session = mbpoll("-t", "3", "-r", "0", "-c", "3", "")
    assert values(said) == [p.VERSION, session.image.map.digest >> 16, session.image.map.digest & 0xFFFF]


def test_mbpoll_reads_discrete_inputs(mbpoll) -> None:
    said, session = mbpoll("-t", "1", "-r", "0", "-c", "80", "")
    assert values(said) == [0] * session.image.map.discretes


@pytest.mark.parametrize(("args", "written"), [
    (("-t", "0", "-r", "0", "1 0 1 1"), ("outputs", p.ORDERS, 0b1101)),
    (("-t", "0", "-r", "7", "1"), ("outputs", p.ORDERS, 0b10000000)),
    (("-t", "4", "-r", "3", "4 77 9"), ("outputs", p.MODE, 77)),
    (("-t", "4", "-r", "5", "9"), ("outputs", p.TEST_REQUEST, 9)),
])
def test_mbpoll_writes(args, written, mbpoll) -> None:
    said, session = mbpoll(*args)
    table, at, value = written
    assert (getattr(session.image, table)[at], session.server.traffic.exceptions) == (value, 0), said


@pytest.mark.parametrize(("args", "why"), [
    (("-t", "3", "-r", "60000", "-c", "1", ""), "Illegal data address"),
    (("-t", "4", "-r", "3", "6"), "Illegal data value"),
])
def test_mbpoll_is_told_what_cannot_be_done(args, why, mbpoll) -> None:
    said, session = mbpoll(*args)
    assert (why in said, session.server.traffic.exceptions) == (True, 1), said
