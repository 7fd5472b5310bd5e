"""What happened, as the reference controller sees it: triggers, the most urgent first."""

from __future__ import annotations

from collections.abc import Callable

from gatesim.events import Command, Direction, Origin
from gatesim.plant.logic.contract import ControllerSeen, ControllerSettings
from gatesim.plant.logic.controller_actions import END_TOLERANCE, latch, why_no_hold
from gatesim.plant.logic.controller_memory import Memory
from gatesim.plant.logic.controller_table import Mode, Trigger
from gatesim.plant.logic.supervision import (
    UNHEARD,
    blocker,
    interrupted,
    is_latched_at_rest,
    pressed,
    sides_of,
    unanswered,
)
from gatesim.units import FOREVER

DAY = 86_400_000_000
_NONE: frozenset[tuple[Command, Origin]] = frozenset()
_NEAR = 0.5  # um: a crossing's own rounding
_STANDING = (Mode.REST, Mode.TESTING, Mode.WARNING, Mode.PAIRING, Mode.DWELL, Mode.LOCK_DWELL)
_HOLD_UNHEARD = (Mode.TESTING, Mode.WARNING, Mode.STOPPING, Mode.STOPPING_AT_END, Mode.HOLDING, Mode.HOLD_STOPPING)
"""Where a press of hold-to-run is ignored: it must not become, or displace, the command that is tested or waits."""
_WAY = {Command.OPEN: Direction.OPENING, Command.HOLD_OPEN: Direction.OPENING,
        Command.CLOSE: Direction.CLOSING, Command.HOLD_CLOSE: Direction.CLOSING}


def buttons(memory: Memory, seen: ControllerSeen, now: float) -> None:
    """Find which controls were newly pressed or let go; what must first be released does not count."""
    if seen.controls is memory.held and not memory.void:
        memory.new = memory.gone = _NONE
        return
    memory.new = seen.controls - memory.held - memory.void
    memory.gone = memory.held - seen.controls - memory.void
    memory.void &= seen.controls
    memory.held = seen.controls
    if (Command.RESET, Origin.WIRED) in memory.new:
        memory.reset_pressed = now
    if (Command.SILENCE, Origin.WIRED) in memory.new:
        memory.alarm_silenced = True
    if (Command.RESET, Origin.RADIO) in memory.new:
        memory.refused += ((Command.RESET, Origin.RADIO, "only the wired reset at the gate", ""),)


def note_other_side(memory: Memory, settings: ControllerSettings, standing: bool, now: float) -> None:
    """Latch at once what is found in motion on the side that does not guard it; log what only blocks at rest."""
    if not memory.found:
        return
    known = set(memory.latched)
    for device, word in memory.found:
        if (device, word) in known:
            continue
        if not standing and word != UNHEARD and memory.direction not in sides_of(settings, device):
            latch(memory, settings, device, word)
        elif standing and not is_latched_at_rest(word):
            _log(memory, settings, device, word, now)


def _log(memory: Memory, settings: ControllerSettings, device: str, word: str, now: float) -> None:
    memory.armed, memory.close_at = False, FOREVER
    last = memory.last
    was = last is not None and any(
        report.edge == device and not (report.heard and report.fresh) for report in last.reports)
    if was or last is None:
        return
    memory.notices += ((word, device),)
    memory.logged = (*(at for at in memory.logged if now - at < DAY), now)
    if len(memory.logged) > settings.faults_a_day:
        memory.notices += (("more faults in a day than allowed", device),)


def drive_trouble(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> str:
    """What is wrong with drive, shut-off, switches or position; "" for nothing."""
    if seen.at_closed and seen.at_open:
        return "both limit switches closed"
    if seen.position_known and ((seen.at_closed and seen.position > END_TOLERANCE + _NEAR)
                                or (seen.at_open and seen.position < settings.travel - END_TOLERANCE - _NEAR)):
        return "limit switch and position disagree"
    order = memory.direction if memory.ordering else None
    if now >= memory.checked_at and memory.do is not None:
        if seen.opening_contactor is not (order is Direction.OPENING) or (
                seen.closing_contactor is not (order is Direction.CLOSING)):
            return "a contactor does not follow"
        if seen.main_closed is not memory.do.main:
            return "the main shut-off does not follow"
    if memory.ordering:
        if seen.motion is not None and seen.motion is not order:
            return "motion against the order"
        at_limit = seen.at_open if order is Direction.OPENING else seen.at_closed
        if now >= memory.still_since + settings.start_limit and not at_limit:
            return "no motion on an order"
    elif seen.motion is not None and (now >= memory.stop_until or memory.mode in _STANDING):
        return "stop not obeyed" if now >= memory.stop_until else "motion without an order"
    return ""


def find(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float,
         done: list[Trigger]) -> Trigger | None:
    """The most urgent trigger that is there and was not yet dealt with in this step."""
    for trigger, there in _URGENCY:
        if trigger not in done and there(memory, settings, seen, now):
            return trigger
    return None


def _drive_fault(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> bool:
    memory.drive_why = drive_trouble(memory, settings, seen, now)
    return bool(memory.drive_why)


def _travel_time(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> bool:
    return memory.ordering and now >= memory.travel_until and not _limit(memory, settings, seen, now)


def _demand(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> bool:
    direction = memory.direction
    if direction is None or memory.mode in _STANDING:
        return False
    latched = memory.latched if memory.mode is Mode.HOLDING else ()
    fresh = memory.press_served is not direction and pressed(settings, seen, direction, latched)
    return fresh or (seen.force and not memory.force_served)


def _interrupted(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> bool:
    direction = memory.direction
    if direction is None or memory.mode in _STANDING:
        return False
    ahead = interrupted(settings, seen, direction, memory.latched if memory.mode is Mode.HOLDING else ())
    return any(beam not in memory.beams_met for beam in ahead)


def _fault(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> bool:
    standing = seen.motion is None and not memory.ordering
    for device, word in memory.found:
        if (device, word) in memory.latched:
            continue
        if standing:
            if is_latched_at_rest(word):
                return True
        elif word != UNHEARD and memory.direction in sides_of(settings, device):
            return True
    return False


def _stop(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> bool:
    return any(command is Command.STOP for command, _ in memory.new)


def _limit(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> bool:
    return memory.ordering and (seen.at_open if memory.direction is Direction.OPENING else seen.at_closed)


def _distance(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> bool:
    if memory.target is None or not memory.ordering:
        return False
    if memory.direction is Direction.OPENING:
        return seen.position >= memory.target - _NEAR
    return seen.position <= memory.target + _NEAR


def _standstill(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> bool:
    return seen.motion is None and not memory.ordering


def _reset(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> bool:
    if (Command.RESET, Origin.WIRED) not in memory.gone:
        return False
    if now - memory.reset_pressed <= settings.reset_window:
        return True
    memory.refused += ((Command.RESET, Origin.WIRED, "held too long", ""),)
    return False


def _pair(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> bool:
    return (Command.PAIR, Origin.WIRED) in memory.new


def _hold_ended(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> bool:
    if memory.mode is not Mode.HOLDING:
        return False
    return why_no_hold(memory, settings, seen, held=True) is not None


def _hold(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> bool:
    for command, origin in sorted(memory.new, key=lambda control: (control[0].value, control[1].value)):
        if command in (Command.HOLD_OPEN, Command.HOLD_CLOSE):
            if memory.mode not in _HOLD_UNHEARD:
                memory.command = (command, origin, _WAY[command])
            return True
    return False


def _start(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> bool:
    for command, origin in sorted(memory.new, key=lambda control: (control[0].value, control[1].value), reverse=True):
        if command in (Command.OPEN, Command.CLOSE):
            memory.command = (command, origin, _WAY[command])
            return True
    if memory.mode is Mode.REST and memory.armed and now >= memory.close_at:
        memory.close_at = FOREVER
        memory.command = (Command.CLOSE, Origin.AUTOMATIC, Direction.CLOSING)
        return True
    return False


def _pressed_waiting(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> bool:
    if memory.mode in (Mode.TESTING, Mode.WARNING):
        return memory.command is not None and _in_the_way(settings, seen, memory.command[2])
    if memory.mode is not Mode.REST or not memory.armed:
        return False
    # The pause begins anew at the release as well, so that it is whole after the last press.
    was = memory.last is not None and _in_the_way(settings, memory.last, Direction.CLOSING)
    return was or _in_the_way(settings, seen, Direction.CLOSING)


def _in_the_way(settings: ControllerSettings, seen: ControllerSeen, direction: Direction) -> bool:
    return pressed(settings, seen, direction) or bool(interrupted(settings, seen, direction))


def _test_failed(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> bool:
    if memory.mode not in (Mode.TESTING, Mode.WARNING) or memory.command is None:
        return False
    direction = memory.command[2]
    memory.why = blocker(memory, settings, seen, direction, now)
    if memory.why is None and memory.mode is Mode.TESTING and now >= memory.test_until:
        silent = unanswered(settings, seen, direction, memory.ask)
        memory.why = ("no answer to the test", silent) if silent else None
    if memory.why is None:
        return False
    memory.tested += ((direction, False),)
    return True


def _test_passed(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> bool:
    if memory.mode is not Mode.TESTING or memory.command is None:
        return False
    if unanswered(settings, seen, memory.command[2], memory.ask):
        return False
    if seen.opening_contactor or seen.closing_contactor or seen.main_closed:
        return False  # not read back as open yet; the test fails if that lasts
    memory.tested += ((memory.command[2], True),)
    return True


def _warning_over(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> bool:
    return now >= memory.warn_until


def _dwell_over(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> bool:
    return now >= memory.dwell_until


def _pairing_over(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> bool:
    return now >= memory.pairing_until


There = Callable[[Memory, ControllerSettings, ControllerSeen, float], bool]

_URGENCY: tuple[tuple[Trigger, There], ...] = (
    (Trigger.DRIVE_FAULT, _drive_fault),
    (Trigger.DEMAND, _demand),
    (Trigger.FAULT, _fault),
    (Trigger.INTERRUPTED, _interrupted),
    (Trigger.TRAVEL_TIME, _travel_time),
    (Trigger.STOP, _stop),
    (Trigger.HOLD_ENDED, _hold_ended),
    (Trigger.LIMIT, _limit),
    (Trigger.DISTANCE, _distance),
    (Trigger.STANDSTILL, _standstill),
    (Trigger.DWELL_OVER, _dwell_over),
    (Trigger.RESET, _reset),
    (Trigger.PAIR, _pair),
    (Trigger.PAIRING_OVER, _pairing_over),
    (Trigger.HOLD, _hold),
    (Trigger.PRESSED_WAITING, _pressed_waiting),
    (Trigger.START, _start),
    (Trigger.TEST_FAILED, _test_failed),
    (Trigger.TEST_PASSED, _test_passed),
    (Trigger.WARNING_OVER, _warning_over),
)
