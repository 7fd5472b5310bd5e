"""The sockets: who may come, how much of them, and what rubbish does."""

from __future__ import annotations

import asyncio
import struct
from collections.abc import Callable, Coroutine
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from gatesim.bench.wire import server as servers
from gatesim.bench.wire.client import Client, Gone
from gatesim.bench.wire.image import Image
from gatesim.bench.wire.server import Address, Server, address_of
from gatesim.bench.wire.session import on_loop
from gatesim.errors import BadUsage

READ = struct.pack(">HHHBBHH", 9, 0, 6, 1, 4, 0, 1)
READ_SAID = struct.pack(">HHHBBBH", 9, 0, 5, 1, 4, 2, 1)


@pytest.fixture
def served(mill_lane_settings) -> Callable[..., Any]:
    """Do something with a server that is there for so long."""

    def serve(does: Callable[[Server, Address], Coroutine[Any, Any, Any]]) -> Any:
        async def whole() -> Any:
            server = Server(Image(mill_lane_settings), lambda _: None, lambda _: None)
            where = await server.listen(Address("127.0.0.1", 0))
            try:
                return await asyncio.wait_for(does(server, where), 20)
            finally:
                server.close()

        return on_loop(whole)

    return serve


@pytest.mark.parametrize(("text", "said"), [
    ("127.0.0.1:1502", "127.0.0.1:1502"), ("localhost:0", "127.0.0.1:0"), ("[::1]:502", "[::1]:502"),
    ("127.8.0.1:9", "127.8.0.1:9"),
])
def test_loopback_is_listened_on(text, said) -> None:
    assert str(address_of(text, beyond_loopback=False)) == said


@pytest.mark.parametrize("text", ["0.0.0.0:1502", "192.0.2.1:1502", "[::]:1502", "10.1.1.1:502"])
def test_no_other_interface_without_being_told(text) -> None:
    with pytest.raises(BadUsage, match="can be reached from other machines"):
        address_of(text, beyond_loopback=False)
    assert address_of(text, beyond_loopback=True).port in (502, 1502)


@pytest.mark.parametrize("text", ["", ":", "1502", "127.0.0.1", "127.0.0.1:", "127.0.0.1:x", "127.0.0.1:65536", "a b:1",
                                  "127.0.0.1:-1", "gate.example:1502", "127.0.0.1:١"])
def test_what_is_no_address_is_refused(text) -> None:
    with pytest.raises(BadUsage, match="expected ADDRESS:PORT"):
        address_of(text, beyond_loopback=True)


def test_a_port_that_is_taken_is_bad_usage(served, mill_lane_settings) -> None:
    async def twice(_: Server, where: Address) -> None:
        with pytest.raises(BadUsage, match="--listen"):
            await Server(Image(mill_lane_settings), lambda _: None, lambda _: None).listen(where)

    served(twice)


def test_requests_in_one_piece_are_all_answered_in_order(served) -> None:
    async def three(_: Server, where: Address) -> bytes:
        reader, writer = await asyncio.open_connection(where.host, where.port)
        writer.write(READ * 3 + READ[:5])
        said = await reader.readexactly(3 * len(READ_SAID))
        writer.write(READ[5:])
        said += await reader.readexactly(len(READ_SAID))
        writer.close()
        return said

    assert served(three) == READ_SAID * 4


def test_one_client_too_many_is_turned_away(served) -> None:
    async def many(server: Server, where: Address) -> tuple[int, int]:
        clients = [await Client.to(where) for _ in range(servers.CONNECTIONS)]
        for client in clients:
            await client.inputs(0, 1)
        more = await Client.to(where)
        with pytest.raises(Gone):
            await more.inputs(0, 1)
        for client in (*clients, more):
            client.close()
        return server.traffic.connections, server.traffic.turned_away

    assert served(many) == (servers.CONNECTIONS, 1)


def test_silence_ends_a_connection(served, monkeypatch) -> None:
    monkeypatch.setattr(servers, "IDLE", 0.1)

    async def silent(server: Server, where: Address) -> tuple[bytes, int, int]:
        reader, writer = await asyncio.open_connection(where.host, where.port)
        writer.write(READ[:7])  # a frame that is never finished
        said = await reader.read(100)
        writer.close()
        return said, server.traffic.broken, len(server.traffic.open)

    assert served(silent) == (b"", 1, 0)


def test_answers_that_nobody_reads_end_the_connection(served, monkeypatch) -> None:
    monkeypatch.setattr(servers, "UNREAD", 1000)

    async def deaf(server: Server, where: Address) -> int:
        reader, writer = await asyncio.open_connection(where.host, where.port, limit=16)

        async def asks_on() -> None:
            while True:
                writer.write(struct.pack(">HHHBBHH", 9, 0, 6, 1, 4, 0, 125) * 200)
                await writer.drain()

        with pytest.raises(ConnectionError):
            await asks_on()
        assert reader is not None
        return server.traffic.broken

    assert served(deaf) == 1


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(rubbish=st.lists(st.binary(max_size=40) | st.binary(max_size=6).map(lambda some: READ[:6] + some), max_size=6))
def test_rubbish_on_one_connection_leaves_the_others_alone(served, rubbish) -> None:
    async def both(server: Server, where: Address) -> list[int]:
        good = await Client.to(where)
        reader, writer = await asyncio.open_connection(where.host, where.port)
        for some in rubbish:
            writer.write(some)
            await asyncio.wait_for(good.inputs(0, 1), 5)
        writer.close()
        said = await good.inputs(0, 1)
        good.close()
        assert len(server.image.outputs) == len(Image(server.image.settings).outputs)
        assert reader is not None
        return said

    assert served(both) == [1]


def test_a_client_is_told_of_a_refusal(served) -> None:
    async def refused(server: Server, where: Address) -> tuple[int, int]:
        client = await Client.to(where)
        with pytest.raises(Gone, match="exception 2"):
            await client.inputs(60_000, 1)
        client.close()
        return server.traffic.requests, server.traffic.exceptions

    assert served(refused) == (1, 1)


def test_nobody_listens() -> None:
    with pytest.raises(Gone):
        on_loop(lambda: Client.to(Address("127.0.0.1", 1)))
