"""The wiring: which bit and which register of the server is which input or output of the controller.

It is made of the controller's settings, so of the site alone.  Every bit is in a word too, so that a client can take a
whole image, or give one, in one request: discrete input n is bit n % 16 (the least significant is 0) of input register
`WORDS` + n // 16, and coil n is bit n of holding register `ORDERS`.  Addresses count from 0, as they stand in a
request.  docs/wire.md says how it is used.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from enum import Enum
from typing import NamedTuple

from gatesim.events import Command, Level, Lockout, Origin
from gatesim.plant.logic.contract import ControllerSettings

VERSION = 1

# --- input registers --------------------------------------------------------------------------------------------------

MAP_VERSION, MAP_HASH, RUN_NUMBER, POWER_UPS, DEVICES, RUN_TIME, POSITION, KEPT_LENGTH = 0, 1, 3, 4, 5, 6, 10, 12
WORDS = 16
CONTROLS_AT, REPORTS_AT = 16, 48
"""The first discrete input of the controls, and of the reports."""
PER_REPORT = 16

# --- holding registers ------------------------------------------------------------------------------------------------

ORDERS, HEARTBEAT, POWER_UP_SEEN, LOCKOUT, MODE, TEST_REQUEST, MESSAGES = 0, 1, 2, 3, 4, 5, 6
FIRST_MESSAGE, PER_MESSAGE, MESSAGE_PLACES = 7, 5, 8
STORE_LENGTH = FIRST_MESSAGE + PER_MESSAGE * MESSAGE_PLACES
STORE = STORE_LENGTH + 1
STORE_WORDS = 240
HOLDINGS = STORE + STORE_WORDS
COILS = 16

LEVELS, LOCKOUTS, COMMANDS, ORIGINS = tuple(Level), tuple(Lockout), tuple(Command), tuple(Origin)
CONTROLS = tuple((command, origin) for command in COMMANDS for origin in ORIGINS)
FLAGS = ("heard", "fresh", "low", "critical", "asked")
"""Members of a report that follow its levels, in this order."""


class Message(Enum):
    """What the controller may tell beside its outputs."""

    NOTICE = 1
    REFUSED = 2
    TESTED = 3


NOTICES = ("something else", "battery low", "about to close", "alarm does not sound",
           "more faults in a day than allowed")
PLACES = ("sounder", "drive", "force sensing")
"""What a message can be about beside a device."""
FIRST_PLACE = 1001


class Table(Enum):
    """The four tables of a Modbus server."""

    DISCRETE = "discrete input"
    COIL = "coil"
    INPUT = "input register"
    HOLDING = "holding register"


class Point(NamedTuple):
    """One entry of the wiring: `size` addresses from `address` on."""

    table: Table
    address: int
    size: int
    name: str
    says: str


class Wiring(NamedTuple):
    """All entries, how many addresses each table has, and what a program can check that it was made for this map."""

    points: tuple[Point, ...]
    devices: tuple[str, ...]
    discretes: int
    inputs: int
    answered_at: int
    kept_at: int
    digest: int

    def size(self, table: Table) -> int:
        """How many addresses a table has."""
        return {Table.DISCRETE: self.discretes, Table.COIL: COILS, Table.INPUT: self.inputs,
                Table.HOLDING: HOLDINGS}[table]


COIL_NAMES = ("order open", "order close", "slow", "main shut-off", "brake released", "alarm",
              "automatic closing armed", "heartbeat")
_COILS = (
    "drive the leaf open", "drive the leaf closed; never both: that ends the run", "the drive order is at slow speed",
    "the main shut-off is closed", "the brake is released (0: held)", "sound the alarm",
    "automatic closing is waiting (an indication)", "turn it over again and again, or count the heartbeat register")
GENERAL = ("run going", "supply good", "at closed", "at open", "force", "force ready", "position known",
           "moving opening", "moving closing", "opening contactor", "closing contactor", "main shut-off closed",
           "sounder")
_GENERAL = ("1 while a run goes on", "the operator's supply", "limit switch at the closed end",
            "limit switch at the open end", "the force sensing has tripped", "the force sensing is in order",
            "0: only differences of the position mean anything", "seen by the travel sensor",
            "seen by the travel sensor", "read-back", "read-back", "read-back", "read-back of the alarm")


def wiring(settings: ControllerSettings) -> Wiring:
    """The wiring of a site."""
    devices = tuple(edge.edge for edge in settings.edges)
    answered_at = WORDS + REPORTS_AT // 16 + len(devices)
    kept_at = answered_at + len(devices)
    points = (*_discretes(settings), *_coils(), *_inputs(settings, answered_at, kept_at), *_holdings())
    said = "\n".join([*(f"{point.table.value} {point.address} {point.size} {point.name}" for point in points),
                      *(f"{edge.edge} {edge.kind.value} {edge.direction.value}" for edge in settings.edges)])
    digest = int.from_bytes(hashlib.sha256(f"{VERSION}\n{said}".encode()).digest()[:4], "big")
    return Wiring(points, devices, REPORTS_AT + PER_REPORT * len(devices), kept_at + STORE_WORDS, answered_at, kept_at,
                  digest)


def _discretes(settings: ControllerSettings) -> Iterator[Point]:
    table = Table.DISCRETE
    for n, (name, says) in enumerate(zip(GENERAL, _GENERAL, strict=True)):
        yield Point(table, n, 1, name, says)
    for n, (command, origin) in enumerate(CONTROLS):
        yield Point(table, CONTROLS_AT + n, 1, f"{command.value}, {origin.value}", "1 while the control is pressed")
    for k, edge in enumerate(settings.edges):
        first, about = REPORTS_AT + PER_REPORT * k, f"{edge.kind.value}, guards {edge.direction.value}"
        for n, level in enumerate(LEVELS):
            yield Point(table, first + n, 1, f"{edge.edge}: {level.value}", about)
        for n, flag in enumerate(FLAGS, len(LEVELS)):
            yield Point(table, first + n, 1, f"{edge.edge}: {flag}", about)


def _coils() -> Iterator[Point]:
    for n, (name, says) in enumerate(zip(COIL_NAMES, _COILS, strict=True)):
        yield Point(Table.COIL, n, 1, name, says)


def _inputs(settings: ControllerSettings, answered_at: int, kept_at: int) -> Iterator[Point]:
    table = Table.INPUT
    yield Point(table, MAP_VERSION, 1, "map version", f"{VERSION}")
    yield Point(table, MAP_HASH, 2, "map hash", "of this wiring, high word first: compare it before driving")
    yield Point(table, RUN_NUMBER, 1, "run number", "counts the runs of this server")
    yield Point(table, POWER_UPS, 1, "power-up number", "counts the power-ups; 0 before the first run")
    yield Point(table, DEVICES, 1, "devices", "edges and beams reported")
    yield Point(table, RUN_TIME, 4, "run time", "us since the run began, high word first")
    yield Point(table, POSITION, 2, "position", "um from the closed end, signed, high word first")
    yield Point(table, KEPT_LENGTH, 1, "kept length", "bytes that the store held at power-up (0: none)")
    words = answered_at - WORDS
    yield Point(table, WORDS, words, "discrete inputs as words", "discrete input n is bit n % 16 of word n // 16")
    for k, edge in enumerate(settings.edges):
        yield Point(table, answered_at + k, 1, f"{edge.edge}: answered", "the latest test request that it answered")
    yield Point(table, kept_at, STORE_WORDS, "kept", "those bytes, the first one high")


def _holdings() -> Iterator[Point]:
    table = Table.HOLDING
    lockouts = ", ".join(f"{n} {one.value}" for n, one in enumerate(LOCKOUTS))
    yield Point(table, ORDERS, 1, "coils as a word", "coil n is bit n")
    yield Point(table, HEARTBEAT, 1, "heartbeat", "any new value counts")
    yield Point(table, POWER_UP_SEEN, 1, "power-up seen", "the power-up number, by one that starts anew with it")
    yield Point(table, LOCKOUT, 1, "lockout", lockouts)
    yield Point(table, MODE, 1, "mode", "for people: a number of your own")
    yield Point(table, TEST_REQUEST, 1, "test request", "counts upward; each new number asks the devices to answer")
    yield Point(table, MESSAGES, 1, "messages", "how many were told; number n (from 0) stands in place n % 8")
    for k in range(MESSAGE_PLACES):
        yield Point(table, FIRST_MESSAGE + PER_MESSAGE * k, PER_MESSAGE, f"message {k}", "kind and four numbers")
    yield Point(table, STORE_LENGTH, 1, "store length", "bytes; writing it keeps what stands in the store")
    yield Point(table, STORE, STORE_WORDS, "store", "what must survive a power loss, the first byte high")
