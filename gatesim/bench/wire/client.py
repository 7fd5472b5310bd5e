"""A small Modbus TCP client: what a peer of ours needs, and nothing more."""

from __future__ import annotations

import asyncio
import struct
from collections.abc import Sequence

from gatesim.bench.wire.modbus import HEADER, Function
from gatesim.bench.wire.server import Address


class Gone(Exception):
    """The server has closed the connection, or refused a request."""


class Client:
    """One connection; one request at a time."""

    def __init__(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self._reader, self._writer, self._number = reader, writer, 0

    @classmethod
    async def to(cls, address: Address) -> Client:
        """Connect.  Gone where nobody listens."""
        try:
            return cls(*await asyncio.open_connection(address.host, address.port))
        except OSError as error:
            raise Gone(f"{address}: {error.strerror or error}") from None

    async def ask(self, pdu: bytes) -> bytes:
        """A request and its answer.  Gone for an exception too."""
        self._number = (self._number + 1) & 0xFFFF
        try:
            self._writer.write(HEADER.pack(self._number, 0, len(pdu) + 1, 1) + pdu)
            _, _, length, _ = HEADER.unpack(await self._reader.readexactly(HEADER.size))
            said = await self._reader.readexactly(length - 1)
        except (OSError, asyncio.IncompleteReadError):
            raise Gone("the server closed the connection") from None
        if said[0] & 0x80:
            raise Gone(f"function {pdu[0]} was refused with exception {said[1]}")
        return said

    async def inputs(self, address: int, count: int) -> list[int]:
        """Input registers (at most 125)."""
        said = await self.ask(struct.pack(">BHH", Function.READ_INPUTS, address, count))
        return list(struct.unpack(f">{count}H", said[2:]))

    async def write(self, address: int, words: Sequence[int]) -> None:
        """Holding registers (at most 123)."""
        await self.ask(struct.pack(f">BHHB{len(words)}H", Function.WRITE_HOLDINGS, address, len(words),
                                   2 * len(words), *words))

    def close(self) -> None:
        """Leave."""
        self._writer.close()
