"""Modbus as far as the server speaks it: requests to answers, bytes in and bytes out.  No socket, no clock.

Sources: "MODBUS Application Protocol Specification V1.1b3" (2012), section 6 (function codes 1 to 6, 15, 16, 23) and 7
(exceptions); "MODBUS Messaging on TCP/IP Implementation Guide V1.0b" (2006), section 3.1.3 (the header).
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from enum import IntEnum
from typing import NamedTuple, Protocol

from gatesim.bench.wire.points import Table

HEADER = struct.Struct(">HHHB")
LONGEST_PDU = 253
_TWO, _FIVE = struct.Struct(">HH"), struct.Struct(">HHB")
_NINE = struct.Struct(">HHHHB")
MOST_BITS_READ, MOST_WORDS_READ, MOST_BITS_WRITTEN, MOST_WORDS_WRITTEN, MOST_WORDS_BOTH = 2000, 125, 1968, 123, 121


class Refusal(IntEnum):
    """Exception codes."""

    FUNCTION = 1
    ADDRESS = 2
    VALUE = 3


class Refused(Exception):
    """A request that is answered with an exception."""

    def __init__(self, why: Refusal) -> None:
        super().__init__(why.name)
        self.why = why


class BrokenFrame(Exception):
    """Bytes that are no Modbus: the connection can't be used any more."""


class Tables(Protocol):
    """What is read and written.  Each raises Refused for an address or a value that there is not."""

    def read_bits(self, table: Table, address: int, count: int) -> list[bool]: ...

    def read_words(self, table: Table, address: int, count: int) -> list[int]: ...

    def write_bits(self, address: int, bits: Sequence[bool]) -> None: ...

    def write_words(self, address: int, words: Sequence[int]) -> None: ...


class Function(IntEnum):
    """The function codes that are served."""

    READ_COILS = 1
    READ_DISCRETES = 2
    READ_HOLDINGS = 3
    READ_INPUTS = 4
    WRITE_COIL = 5
    WRITE_HOLDING = 6
    WRITE_COILS = 15
    WRITE_HOLDINGS = 16
    WRITE_AND_READ = 23


_READS = {Function.READ_COILS: Table.COIL, Function.READ_DISCRETES: Table.DISCRETE,
          Function.READ_HOLDINGS: Table.HOLDING, Function.READ_INPUTS: Table.INPUT}
WRITES = frozenset({Function.WRITE_COIL, Function.WRITE_HOLDING, Function.WRITE_COILS, Function.WRITE_HOLDINGS,
                    Function.WRITE_AND_READ})


class Frame(NamedTuple):
    """One request as it came: its number, the unit it is for (any is answered), and what it says."""

    number: int
    unit: int
    pdu: bytes


def frames(buffer: bytearray) -> list[Frame]:
    """Take the whole frames out of what has come; the rest stays.  BrokenFrame where it is no Modbus."""
    found = []
    at = 0
    while len(buffer) - at >= HEADER.size:
        number, protocol, length, unit = HEADER.unpack_from(buffer, at)
        if protocol != 0 or not 2 <= length <= LONGEST_PDU + 1:
            raise BrokenFrame(f"protocol {protocol}, length {length}")
        ends = at + HEADER.size - 1 + length
        if ends > len(buffer):
            break
        found.append(Frame(number, unit, bytes(buffer[at + HEADER.size : ends])))
        at = ends
    del buffer[:at]
    return found


def framed(frame: Frame, pdu: bytes) -> bytes:
    """An answer with its header."""
    return HEADER.pack(frame.number, 0, len(pdu) + 1, frame.unit) + pdu


def answer(pdu: bytes, tables: Tables) -> bytes:
    """The answer to one request; an exception for what can't be done, and then nothing was."""
    code, body = pdu[0], pdu[1:]
    try:
        if code in _READS:
            return _read(Function(code), body, tables)
        if code in WRITES:
            return _write(Function(code), body, tables)
        raise Refused(Refusal.FUNCTION)
    except Refused as refused:
        return bytes((code | 0x80, refused.why))


def _count(count: int, most: int) -> int:
    if not 1 <= count <= most:
        raise Refused(Refusal.VALUE)
    return count


def _fixed(shape: struct.Struct, body: bytes) -> tuple[int, ...]:
    if len(body) != shape.size:
        raise Refused(Refusal.VALUE)
    numbers: tuple[int, ...] = shape.unpack(body)
    return numbers


def _read(code: Function, body: bytes, tables: Tables) -> bytes:
    address, count = _fixed(_TWO, body)
    table = _READS[code]
    if code in (Function.READ_COILS, Function.READ_DISCRETES):
        bits = tables.read_bits(table, address, _count(count, MOST_BITS_READ))
        said = bytes(sum(bit << k for k, bit in enumerate(bits[at : at + 8])) for at in range(0, count, 8))
    else:
        said = _words(tables.read_words(table, address, _count(count, MOST_WORDS_READ)))
    return bytes((code, len(said))) + said


def _words(words: Sequence[int]) -> bytes:
    return struct.pack(f">{len(words)}H", *words)


def _carried(said: bytes, length: int, given: int) -> bytes:
    """The values of a write: as long as they are said to be."""
    if length != given or len(said) != given:
        raise Refused(Refusal.VALUE)
    return said


def _write(code: Function, body: bytes, tables: Tables) -> bytes:
    if code is Function.WRITE_COIL:
        address, value = _fixed(_TWO, body)
        if value not in (0, 0xFF00):
            raise Refused(Refusal.VALUE)
        tables.write_bits(address, [value != 0])
    elif code is Function.WRITE_HOLDING:
        address, value = _fixed(_TWO, body)
        tables.write_words(address, [value])
    elif code is Function.WRITE_AND_READ:
        return _write_and_read(body, tables)
    else:
        address, count, length = _fixed(_FIVE, body[:5])
        said = body[5:]
        if code is Function.WRITE_COILS:
            said = _carried(said, length, (_count(count, MOST_BITS_WRITTEN) + 7) // 8)
            tables.write_bits(address, [bool(said[k // 8] >> k % 8 & 1) for k in range(count)])
        else:
            said = _carried(said, length, 2 * _count(count, MOST_WORDS_WRITTEN))
            tables.write_words(address, struct.unpack(f">{count}H", said))
    return bytes((code,)) + body[:4]


def _write_and_read(body: bytes, tables: Tables) -> bytes:
    """Function code 23: the write comes first."""
    read_at, read_count, address, count, length = _fixed(_NINE, body[:9])
    said = _carried(body[9:], length, 2 * _count(count, MOST_WORDS_BOTH))
    _count(read_count, MOST_WORDS_READ)
    tables.read_words(Table.HOLDING, read_at, read_count)
    tables.write_words(address, struct.unpack(f">{count}H", said))
    back = _words(tables.read_words(Table.HOLDING, read_at, read_count))
    return bytes((Function.WRITE_AND_READ, len(back))) + back
