"""Modbus, bytes in and bytes out: the standard's own examples, its limits, and rubbish.

"MODBUS Application Protocol Specification V1.1b3", the worked example in each function's section (6.1 to 6.17); written
down here from memory of it.
"""

from __future__ import annotations

import struct
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gatesim.bench.wire.image import Image
from gatesim.bench.wire.modbus import BrokenFrame, Frame, Refusal, Refused, answer, framed, frames
from gatesim.bench.wire.points import Table


class Given:
    """Tables that hold what an example says, and remember what was written."""

    def __init__(self, bits: Sequence[bool] = (), words: Sequence[int] = ()) -> None:
        self.bits, self.words = bits, words
        self.asked: list[object] = []

    def read_bits(self, table: Table, address: int, count: int) -> list[bool]:
        self.asked.append((table, address, count))
        return list(self.bits[:count])

    def read_words(self, table: Table, address: int, count: int) -> list[int]:
        self.asked.append((table, address, count))
        return list(self.words[:count])

    def write_bits(self, address: int, bits: Sequence[bool]) -> None:
        self.asked.append((address, list(bits)))

    def write_words(self, address: int, words: Sequence[int]) -> None:
        self.asked.append((address, list(words)))


def bits_of(text: str) -> list[bool]:
    """Bytes in hexadecimal as bits, the least significant first."""
    return [bool(byte >> k & 1) for byte in bytes.fromhex(text) for k in range(8)]


READS = [
    ("01 0013 0013", "01 03 CD6B05", Given(bits=bits_of("CD6B05")), (Table.COIL, 0x13, 19)),
    ("02 00C4 0016", "02 03 ACDB35", Given(bits=bits_of("ACDB35")), (Table.DISCRETE, 0xC4, 22)),
    ("03 006B 0003", "03 06 022B 0000 0064", Given(words=(0x22B, 0, 0x64)), (Table.HOLDING, 0x6B, 3)),
    ("04 0008 0001", "04 02 000A", Given(words=(10,)), (Table.INPUT, 8, 1)),
]
WRITES = [
    ("05 00AC FF00", "05 00AC FF00", (0xAC, [True])),
    ("06 0001 0003", "06 0001 0003", (1, [3])),
    ("0F 0013 000A 02 CD01", "0F 0013 000A", (0x13, bits_of("CD01")[:10])),
    ("10 0001 0002 04 000A 0102", "10 0001 0002", (1, [10, 0x102])),
]


@pytest.mark.parametrize(("request_", "said", "tables", "asked"), READS, ids=lambda value: str(value)[:12])
def test_the_examples_of_reading(request_, said, tables, asked) -> None:
    assert answer(bytes.fromhex(request_), tables) == bytes.fromhex(said)
    assert tables.asked == [asked]


@pytest.mark.parametrize(("request_", "said", "asked"), WRITES, ids=lambda value: str(value)[:12])
def test_the_examples_of_writing(request_, said, asked) -> None:
    tables = Given()
    assert answer(bytes.fromhex(request_), tables) == bytes.fromhex(said)
    assert tables.asked == [asked]


def test_the_example_of_writing_and_reading() -> None:
    tables = Given(words=(0xFE, 0xACD, 1, 3, 0xD, 0xFF))
    said = answer(bytes.fromhex("17 0003 0006 000E 0003 06 00FF 00FF 00FF"), tables)
    assert said == bytes.fromhex("17 0C 00FE 0ACD 0001 0003 000D 00FF")
    assert tables.asked[-2] == (0xE, [0xFF] * 3)  # the write comes before the read


@pytest.mark.parametrize(("request_", "why"), [
    ("07", Refusal.FUNCTION), ("2B 0E 01 00", Refusal.FUNCTION), ("00", Refusal.FUNCTION),
    ("01 0000 0000", Refusal.VALUE), ("01 0000 07D1", Refusal.VALUE), ("04 0000 007E", Refusal.VALUE),
    ("04 0000", Refusal.VALUE), ("04 0000 0001 00", Refusal.VALUE), ("05 0000 0001", Refusal.VALUE),
    ("0F 0000 0008 02 0000", Refusal.VALUE), ("0F 0000 0008 01", Refusal.VALUE), ("10 0000 0001 02 00", Refusal.VALUE),
    ("10 0000 007C F8" + "00" * 248, Refusal.VALUE), ("17 0000 0001 0000 0000 00", Refusal.VALUE),
    ("01 0008 0009", Refusal.ADDRESS), ("02 FFFF 0001", Refusal.ADDRESS), ("06 2000 0001", Refusal.ADDRESS),
    ("06 0003 0063", Refusal.VALUE),
], ids=lambda value: str(value)[:22])
def test_what_cannot_be_done_is_refused_and_changes_nothing(request_, why, mill_lane_settings) -> None:
    image = Image(mill_lane_settings)
    before = image.outputs.copy()
    pdu = bytes.fromhex(request_)
    assert answer(pdu, image) == bytes((pdu[0] | 0x80, why))
    assert image.outputs == before


@given(st.binary(min_size=1, max_size=253))
def test_any_request_is_answered(pdu) -> None:
    tables = Given(bits=[True] * 2000, words=[0xFFFF] * 125)
    said = answer(pdu, tables)
    assert said[0] in (pdu[0], pdu[0] | 0x80)
    assert 2 <= len(said) <= 253
    if said[0] != pdu[0]:
        assert len(said) == 2


@given(st.lists(st.binary(min_size=1, max_size=253), max_size=5), st.data())
def test_frames_come_out_however_they_were_cut(pdus, data) -> None:
    sent = [Frame(number, number % 256, pdu) for number, pdu in enumerate(pdus)]
    stream = b"".join(framed(frame, frame.pdu) for frame in sent)
    buffer, found = bytearray(), []
    while stream:
        cut = data.draw(st.integers(1, len(stream)))
        buffer += stream[:cut]
        stream = stream[cut:]
        found += frames(buffer)
    assert (found, buffer) == (sent, b"")


@pytest.mark.parametrize(("protocol", "length"), [(1, 6), (0, 0), (0, 1), (0, 255), (0, 65535)])
def test_what_is_no_frame_breaks_the_connection(protocol, length) -> None:
    with pytest.raises(BrokenFrame):
        frames(bytearray(struct.pack(">HHHB", 1, protocol, length, 1)))


def test_refused_says_why() -> None:
    assert str(Refused(Refusal.VALUE)) == "VALUE"
