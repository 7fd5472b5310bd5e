"""The server's sockets: few connections, short frames, and nobody who can hold it up.

One asyncio loop serves the wire and lives the run, so there is no thread and no lock: a request is answered in the
instant in which it was read.
"""

from __future__ import annotations

import asyncio
import ipaddress
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import NamedTuple

from gatesim.bench.wire.image import Image
from gatesim.bench.wire.modbus import WRITES, BrokenFrame, Frame, answer, framed, frames
from gatesim.errors import BadUsage

CONNECTIONS = 8
"""Clients at a time; one more is closed at once."""
IDLE = 30.0
"""Seconds without a whole request after which a client is closed."""
UNREAD = 1 << 16
"""Bytes of answers that a client may leave unread."""


class Address(NamedTuple):
    """Where to listen."""

    host: str
    port: int

    def __str__(self) -> str:
        return f"[{self.host}]:{self.port}" if ":" in self.host else f"{self.host}:{self.port}"


def address_of(text: str, *, beyond_loopback: bool) -> Address:
    """`127.0.0.1:1502`.  BadUsage for what is no address, and for one that others can reach unless that is allowed."""
    host, colon, port = text.rpartition(":")
    host = host.removeprefix("[").removesuffix("]")
    try:
        where = ipaddress.ip_address("127.0.0.1" if host == "localhost" else host)
    except ValueError:
        where = None
    if not colon or where is None or not port.isascii() or not port.isdecimal() or int(port) > 65535:
        raise BadUsage(f"--listen {text}: expected ADDRESS:PORT, such as 127.0.0.1:1502 (an address, no name)")
    if not where.is_loopback and not beyond_loopback:
        raise BadUsage(f"--listen {text}: {where} can be reached from other machines, and Modbus asks nobody who they "
                       f"are; with --beyond-loopback it is listened on")
    return Address(str(where), int(port))


@dataclass
class Traffic:
    """What came over the wire."""

    connections: int = 0
    turned_away: int = 0
    broken: int = 0
    """Connections closed for bytes that are no Modbus, for silence or for answers left unread."""
    requests: int = 0
    exceptions: int = 0
    open: set[_Client] = field(default_factory=set)


Asked = Callable[[bytes], None]
"""Told of each request: once before it is answered (a read sees what it made), once after a write."""


class Server:
    """Listens and answers.  `before` is told of every request, `after` of every write that was done."""

    def __init__(self, image: Image, before: Asked, after: Asked) -> None:
        self.image, self.before, self.after = image, before, after
        self.traffic = Traffic()
        self._server: asyncio.Server | None = None

    async def listen(self, address: Address) -> Address:
        """Begin; the address with the port that it got.  BadUsage where it can't be had."""
        loop = asyncio.get_running_loop()
        try:
            self._server = await loop.create_server(lambda: _Client(self), address.host, address.port, backlog=4)
        except OSError as error:
            raise BadUsage(f"--listen {address}: {error.strerror or error}") from None
        return Address(address.host, self._server.sockets[0].getsockname()[1])

    def close(self) -> None:
        """Stop listening, and end every connection."""
        if self._server is not None:
            self._server.close()
        for client in tuple(self.traffic.open):
            client.end()

    def one(self, frame: Frame) -> bytes:
        """Answer one request."""
        self.before(frame.pdu)
        said = answer(frame.pdu, self.image)
        self.traffic.requests += 1
        if said[0] & 0x80:
            self.traffic.exceptions += 1
        elif frame.pdu[0] in WRITES:
            self.after(frame.pdu)
        return framed(frame, said)


class _Client(asyncio.Protocol):
    """One connection."""

    def __init__(self, server: Server) -> None:
        self._server, self._buffer = server, bytearray()
        self._transport: asyncio.Transport | None = None
        self._idle: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        assert isinstance(transport, asyncio.Transport)
        self._transport, traffic = transport, self._server.traffic
        if len(traffic.open) >= CONNECTIONS:
            traffic.turned_away += 1
            transport.abort()
            return
        traffic.connections += 1
        traffic.open.add(self)
        self._wait()

    def _wait(self) -> None:
        if self._idle is not None:
            self._idle.cancel()
        self._idle = asyncio.get_running_loop().call_later(IDLE, self._cut)

    def data_received(self, data: bytes) -> None:
        if self._transport is None or self._transport.is_closing():
            return
        self._buffer += data
        try:
            found = frames(self._buffer)
        except BrokenFrame:
            self._cut()
            return
        if found:
            self._transport.write(b"".join([self._server.one(frame) for frame in found]))
            self._wait()
        if self._transport.get_write_buffer_size() > UNREAD:
            self._cut()

    def _cut(self) -> None:
        self._server.traffic.broken += 1
        self.end()

    def connection_lost(self, exc: Exception | None) -> None:
        self._server.traffic.open.discard(self)
        if self._idle is not None:
            self._idle.cancel()

    def end(self) -> None:
        """Close it at once."""
        if self._transport is not None:
            self._transport.abort()
