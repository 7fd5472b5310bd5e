"""What the reference controller makes of its devices' reports: troubles, blockers, and what guards a direction."""

from __future__ import annotations

from gatesim.events import Command, Direction, LeafName, Level
from gatesim.plant.logic.contract import ControllerSeen, ControllerSettings, Kind, Report
from gatesim.plant.logic.controller_memory import Memory
from gatesim.units import FOREVER

FORCE = "force sensing"
STALE = "not fresh"
UNHEARD = "not heard since power-up"
LONG_PRESS = "pressed too long"
NO_ECHO = "does not answer its test pulse"
_LEVEL_TROUBLE = {Level.OPEN: "loop open", Level.HIGH: "loop above its band", Level.INVALID: "reading invalid"}


def trouble_of(report: Report, kind: Kind = Kind.EDGE) -> str:
    """What is wrong with a device, in words; "" for nothing.  A press is no trouble, nor is an interruption."""
    if not report.heard:
        return UNHEARD
    if not report.fresh:
        return STALE
    if report.critical:
        return "battery critical"
    # An unknown level, or one that a device of this kind does not have, is a fault, never "else: in order".
    if kind is Kind.BEAM:
        if report.level in (Level.REST, Level.INTERRUPTED):
            return ""
        return NO_ECHO if report.level is Level.INVALID else "level unknown"
    return "" if report.level in (Level.REST, Level.PRESSED) else _LEVEL_TROUBLE.get(report.level, "level unknown")


def guarding(settings: ControllerSettings, direction: Direction) -> tuple[int, ...]:
    """Indices of the edges and beams that guard a direction."""
    return tuple(k for k, edge in enumerate(settings.edges) if edge.direction is direction)


def troubles(memory: Memory, settings: ControllerSettings, seen: ControllerSeen,
             now: float) -> tuple[tuple[str, str], ...]:
    """(device, trouble) of everything that is out of order now."""
    found = [(report.edge, word) for report, device in zip(seen.reports, settings.edges, strict=True)
             if (word := trouble_of(report, device.kind))]
    found += [(report.edge, LONG_PRESS) for k, report in enumerate(seen.reports)
              if now >= memory.pressed_since[k] + settings.press_limit]
    if not seen.force_ready:
        found.append((FORCE, "does not answer its test"))
    return tuple(found)


def sides_of(settings: ControllerSettings, device: str) -> tuple[Direction, ...]:
    """The directions that a device guards."""
    if device == FORCE:
        return (Direction.OPENING, Direction.CLOSING)
    return tuple(edge.direction for edge in settings.edges if edge.edge == device)


def is_latched_at_rest(word: str) -> bool:
    """Whether a trouble found at rest is latched.  A link lost or not heard yet at rest only blocks the start."""
    return word not in (STALE, UNHEARD)


def unhealed(memory: Memory) -> tuple[tuple[str, str], ...]:
    """The latched troubles that a reset must leave: those of devices that are not seen in order in every respect.

    A device that is lost or not heard yet says nothing about its loop.
    """
    out_of_order = [device for device, _ in memory.found]
    return tuple(item for item in memory.latched if item[0] in out_of_order)


def way_back_guarded(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, back: Direction) -> bool:
    """Whether something healthy guards a direction (an edge or a beam; where there is none, the force sensing).

    Of two leaves each needs its own: an edge of one says nothing of what the other meets.
    """
    edges = guarding(settings, back)
    bad = {edge for edge, _ in (*memory.latched, *memory.found)}
    for leaf in dict.fromkeys(edge.leaf for edge in settings.edges if edge.leaf is not None) or (LeafName.FIRST,):
        mine = [k for k in edges if settings.edges[k].leaf in (leaf, None)]
        if not (any(seen.reports[k].edge not in bad for k in mine) if mine else seen.force_ready):
            return False
    return True


def blocker(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, direction: Direction,
            now: float) -> tuple[str, str] | None:
    """Why an automatic start in this direction is not allowed: (reason, device), or None."""
    locked = memory.lock_opening if direction is Direction.OPENING else memory.lock_closing
    if memory.entrapment or memory.drive_fault or locked:
        return ("locked out", "")
    if any(command is Command.STOP for command, _ in seen.controls):
        return ("stop held", "")
    for k in guarding(settings, direction):
        report = seen.reports[k]
        word = trouble_of(report, settings.edges[k].kind)
        if word:
            return (word, report.edge)
        if report.level in (Level.PRESSED, Level.INTERRUPTED):
            return (report.level.value, report.edge)
        if now < memory.good_since[k] + settings.recovery_time and memory.good_since[k] > -FOREVER:
            return ("recovering", report.edge)
    if not seen.force_ready:
        return ("does not answer its test", FORCE)
    if seen.force:
        return ("pressed", FORCE)
    if now < memory.checked_at:
        return None  # contactors and main shut-off have just been ordered; the read-back has its own time
    if seen.opening_contactor or seen.closing_contactor:
        return ("contactor does not open", "drive")
    if seen.main_closed and not (memory.do is not None and memory.do.main):
        return ("main shut-off does not open", "drive")
    return None


def unanswered(settings: ControllerSettings, seen: ControllerSeen, direction: Direction, ask: int) -> str:
    """Name of a device that guards the direction, can be asked, and has not answered; "" for none."""
    for k in guarding(settings, direction):
        report = seen.reports[k]
        if report.asked and report.answered < ask:
            return report.edge
    return ""


def is_press(report: Report) -> bool:
    """A press reported by a device that is there."""
    return report.fresh and report.level is Level.PRESSED


def pressed(settings: ControllerSettings, seen: ControllerSeen, direction: Direction,
            latched: tuple[tuple[str, str], ...] = ()) -> bool:
    """Whether an edge that guards the direction is reported pressed; edges with a latched trouble do not count."""
    out_of_order = [device for device, _ in latched]
    return any(is_press(seen.reports[k]) and seen.reports[k].edge not in out_of_order
               for k in guarding(settings, direction))


def is_interrupted(report: Report) -> bool:
    """An interruption reported by a beam that is there."""
    return report.fresh and report.level is Level.INTERRUPTED


def interrupted(settings: ControllerSettings, seen: ControllerSeen, direction: Direction,
                latched: tuple[tuple[str, str], ...] = ()) -> tuple[str, ...]:
    """The beams that guard the direction and are reported interrupted; those with a latched trouble do not count."""
    out_of_order = [device for device, _ in latched]
    return tuple([seen.reports[k].edge for k in guarding(settings, direction)
                  if is_interrupted(seen.reports[k]) and seen.reports[k].edge not in out_of_order])


def note_reports(memory: Memory, seen: ControllerSeen, standing: bool, now: float) -> None:
    """Keep the ages of good reports and of presses at standstill."""
    last = memory.last
    if not memory.good_since:
        # -FOREVER marks "good from the beginning": only what has been bad must recover.
        memory.good_since = tuple(-FOREVER for _ in seen.reports)
        memory.pressed_since = tuple(FOREVER for _ in seen.reports)
    if (last is not None and last.reports is seen.reports and not standing
            and all(since == FOREVER for since in memory.pressed_since)):
        return  # a press held at standstill ends with the standstill, though the same reports stand
    good, held = [], []
    for k, report in enumerate(seen.reports):
        is_pressed = standing and is_press(report)
        # A device not heard since power-up has nothing to recover from; a lost link and a press at rest have.
        bad = is_pressed or (report.heard and not report.fresh)
        since = memory.good_since[k]
        good.append(FOREVER if bad else (now if since == FOREVER else since))
        held.append((now if memory.pressed_since[k] == FOREVER else memory.pressed_since[k]) if is_pressed else FOREVER)
    memory.good_since, memory.pressed_since = tuple(good), tuple(held)
