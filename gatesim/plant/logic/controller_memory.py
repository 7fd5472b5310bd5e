"""What the reference controller remembers, and what of it survives a power loss."""

from __future__ import annotations

import json
from zlib import crc32

from gatesim.events import Command, Direction, Lockout, Origin
from gatesim.plant.logic.contract import ControllerDo, ControllerSeen, ControllerSettings
from gatesim.plant.logic.controller_table import Mode
from gatesim.plant.part import state
from gatesim.units import FOREVER


@state
class Memory:
    """Everything the reference controller remembers; flat, every field an immutable value."""

    mode: Mode
    settings: ControllerSettings
    lock_opening: bool = False
    lock_closing: bool = False
    entrapment: bool = False
    drive_fault: str = ""
    drive_why: str = ""
    latched: tuple[tuple[str, str], ...] = ()
    """(edge, trouble) found and not reset."""
    interrupted: Direction | None = None
    """The movement that a counted demand interrupted and that was not completed since."""
    alarm_until: float = -1.0
    alarm_silenced: bool = False

    direction: Direction | None = None
    """Direction of the present or last order."""
    ordering: bool = False
    slow: bool = False
    ordered_at: float = 0.0
    ended_at: float = -FOREVER
    still_since: float = FOREVER
    """Since when the leaf stands although motion is ordered."""
    checked_at: float = FOREVER
    """From then on every read-back must agree."""
    travel_until: float = FOREVER
    stop_until: float = FOREVER
    dwell_until: float = FOREVER
    by_fault: bool = False
    by_beam: bool = False
    beams_met: tuple[str, ...] = ()
    """Beams whose interruption has been answered, or was known when the order was given, until they are clear."""
    force_served: bool = False
    """The force sensing still reports the obstruction that is being served."""
    press_served: Direction | None = None
    """The side whose edges report, until released, the obstruction that is being served."""
    origin_at: float = 0.0
    """Measured position from which the present reversal counts."""
    moved: float = 0.0
    """How far the last order had moved the leaf when it stood."""
    target: float | None = None
    """Measured position at which the present reversal ends."""

    command: tuple[Command, Origin, Direction] | None = None
    """The command being tested, executed or waiting."""
    fresh: bool = False
    """The present move was started by a command, not by automatic closing."""
    why: tuple[str, str] | None = None
    """Why the test failed, as (reason, device)."""
    ask: int = 0
    test_until: float = FOREVER
    warn_until: float = FOREVER
    armed: bool = False
    close_at: float = FOREVER
    pairing_until: float = FOREVER

    held: frozenset[tuple[Command, Origin]] = frozenset()
    new: frozenset[tuple[Command, Origin]] = frozenset()
    gone: frozenset[tuple[Command, Origin]] = frozenset()
    void: frozenset[tuple[Command, Origin]] = frozenset()
    """Controls that must be released before they count."""
    reset_pressed: float = -FOREVER

    good_since: tuple[float, ...] = ()
    """Per report: since when it has been good without a break (FOREVER: it is not)."""
    pressed_since: tuple[float, ...] = ()
    """Per report: since when it has been pressed at standstill."""
    found: tuple[tuple[str, str], ...] = ()
    """(edge, trouble) present at the last step, latched or not."""
    logged: tuple[float, ...] = ()
    """Instants of unlatched faults at rest within the last 24 hours."""
    heard_by: float = FOREVER
    """By when the alarm must be read back as sounding."""
    notices: tuple[tuple[str, str], ...] = ()
    refused: tuple[tuple[Command, Origin, str, str], ...] = ()
    tested: tuple[tuple[Direction, bool], ...] = ()
    fresh_start: bool = True
    """Nothing seen yet since power-up."""
    last: ControllerSeen | None = None
    keep: bytes = b""
    keep_facts: tuple[object, ...] | None = None
    do: ControllerDo | None = None


def lockout_of(memory: Memory) -> Lockout:
    """The lockout as one value, the worst first."""
    if memory.entrapment:
        return Lockout.ENTRAPMENT
    if memory.drive_fault:
        return Lockout.DRIVE
    if memory.lock_opening and memory.lock_closing:
        return Lockout.BOTH
    if memory.lock_opening:
        return Lockout.OPENING
    return Lockout.CLOSING if memory.lock_closing else Lockout.NONE


def to_keep(memory: Memory) -> bytes:
    """What must survive a power loss, with a check sum; made anew only when it changed."""
    facts = (memory.lock_opening, memory.lock_closing, memory.entrapment, memory.drive_fault, memory.latched,
             memory.interrupted, memory.alarm_until >= 0)
    if facts != memory.keep_facts:
        body = json.dumps([memory.lock_opening, memory.lock_closing, memory.entrapment, memory.drive_fault,
                           memory.latched, memory.interrupted.value if memory.interrupted else "",
                           memory.alarm_until >= 0], separators=(",", ":")).encode()
        memory.keep, memory.keep_facts = b"%08x" % crc32(body) + body, facts
    return memory.keep


def restore(memory: Memory, kept: bytes | None, alarm_time: int) -> None:
    """Take back what was kept.  What cannot be read is a lockout, never a clean slate."""
    if not kept:
        return
    try:
        if int(kept[:8], 16) != crc32(kept[8:]):
            raise ValueError("check sum")
        opening, closing, entrapment, drive, latched, interrupted, alarm = json.loads(kept[8:])
    except ValueError:
        memory.drive_fault = "the non-volatile store cannot be read"
        return
    memory.lock_opening, memory.lock_closing, memory.entrapment = opening, closing, entrapment
    memory.drive_fault, memory.latched = drive, tuple((edge, trouble) for edge, trouble in latched)
    memory.interrupted = Direction(interrupted) if interrupted else None
    memory.alarm_until = float(alarm_time) if alarm else -1.0
