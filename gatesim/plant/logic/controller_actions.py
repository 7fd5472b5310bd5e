"""What the rows of the reference controller's table do; one function an action, of the action's own name."""

from __future__ import annotations

from gatesim.events import Command, Direction, Origin
from gatesim.plant.logic.contract import ControllerSeen, ControllerSettings
from gatesim.plant.logic.controller_memory import Memory
from gatesim.plant.logic.controller_table import Mode
from gatesim.plant.logic.supervision import (
    UNHEARD,
    blocker,
    interrupted,
    is_interrupted,
    is_latched_at_rest,
    is_press,
    sides_of,
    unanswered,
    unhealed,
)
from gatesim.units import FOREVER

READ_BACK = 100_000
"""How long contactors and main shut-off may take to be read back (ours)."""
END_TOLERANCE = 150_000.0
"""How far a limit switch and the measured position may disagree (ours), um."""
PAIRING_TIME = 60_000_000
"""How long pairing stays open (common practice, no source)."""


def latch(memory: Memory, settings: ControllerSettings, device: str, word: str) -> None:
    """Latch one trouble and lock out what its device guards."""
    memory.latched += ((device, word),)
    memory.notices += ((word, device),)
    _lock_sides(memory, settings, sides_of(settings, device))


def _lock_sides(memory: Memory, settings: ControllerSettings, sides: tuple[Direction, ...]) -> None:
    both = settings.fault_locks_both and bool(sides)
    memory.lock_opening = memory.lock_opening or both or Direction.OPENING in sides
    memory.lock_closing = memory.lock_closing or both or Direction.CLOSING in sides


def _order(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float,
           direction: Direction) -> None:
    memory.ordering, memory.direction, memory.ordered_at = True, direction, now
    memory.slow, memory.checked_at = not seen.position_known, now + READ_BACK
    memory.still_since, memory.stop_until = now, FOREVER
    opening = direction is Direction.OPENING
    memory.travel_until = now + (settings.travel_time_opening if opening else settings.travel_time_closing)
    memory.origin_at, memory.target = seen.position, None
    memory.test_until = memory.warn_until = memory.dwell_until = memory.close_at = FOREVER
    for report in seen.reports:
        if report.low:
            memory.notices += (("battery low", report.edge),)


def why_no_hold(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, *,
                held: bool = False) -> tuple[str, str] | None:
    """Why hold-to-run is refused (or, `held`, must end): (reason, device), or None."""
    wired = [c for c, o in seen.controls if o is Origin.WIRED and c in (Command.HOLD_OPEN, Command.HOLD_CLOSE)]
    if len(wired) == 2:
        return ("both directions held", "")
    if held:
        opening = memory.direction is Direction.OPENING
        wanted = Command.HOLD_OPEN if opening else Command.HOLD_CLOSE
        return None if wanted in wired else ("released", "")
    if memory.entrapment or memory.drive_fault:
        return ("locked out", "")
    if memory.command is None or memory.command[1] is not Origin.WIRED:
        return ("only the wired control in view", "")
    direction = memory.command[2]
    if seen.at_open if direction is Direction.OPENING else seen.at_closed:
        return ("already there", "")
    out_of_order = [device for device, _ in memory.latched]
    for report, edge in zip(seen.reports, settings.edges, strict=True):
        # A healthy edge only: a lasting short must not keep the gate from being moved by hand on the control.
        if edge.direction is direction and report.edge not in out_of_order:
            if is_press(report):
                return ("pressed", report.edge)
            if is_interrupted(report):
                return ("interrupted", report.edge)
    if seen.opening_contactor or seen.closing_contactor or seen.main_closed:
        return ("contactor or main shut-off does not open", "drive")
    return ("pressed", "force sensing") if seen.force else None


def why_no_reset(memory: Memory, settings: ControllerSettings, seen: ControllerSeen) -> tuple[str, str] | None:
    """Why a reset does nothing: (reason, device), or None."""
    for report in seen.reports:
        if is_press(report):
            return ("pressed", report.edge)
    if seen.force:
        return ("pressed", "force sensing")
    if seen.motion is not None:
        return ("moving", "")
    if memory.drive_fault and (seen.opening_contactor or seen.closing_contactor or seen.main_closed
                               or (seen.at_closed and seen.at_open)):
        return ("the cause is still there", "drive")
    left = unhealed(memory)
    if left and left == memory.latched and not memory.entrapment and not memory.drive_fault:
        return ("the cause is still there", left[0][0])
    return None


def ask(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    memory.ask += 1
    memory.test_until = now + settings.test_time
    memory.warn_until = FOREVER


def go(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    if memory.command is not None:
        memory.fresh = memory.command[1] is not Origin.AUTOMATIC
        if memory.fresh:
            memory.armed = False
        _order(memory, settings, seen, now, memory.command[2])
        memory.command = None


def hold_order(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    if memory.command is not None:
        _order(memory, settings, seen, now, memory.command[2])
        memory.slow, memory.fresh, memory.travel_until, memory.command = True, False, FOREVER, None


def stop_order(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    memory.ordering, memory.ended_at, memory.by_fault, memory.by_beam = False, now, False, False
    memory.stop_until, memory.travel_until, memory.still_since = now + settings.stop_limit, FOREVER, FOREVER
    memory.target, memory.checked_at = None, now + READ_BACK


def _order_to(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float, distance: float) -> None:
    direction = memory.direction.other if memory.direction is not None else Direction.OPENING
    if direction is Direction.CLOSING and seen.position_known:
        distance = min(distance, seen.position / 2)  # never to the closed end
    _order(memory, settings, seen, now, direction)
    memory.target = seen.position + direction.sign * distance
    memory.beams_met += interrupted(settings, seen, direction)  # known when it was ordered; what comes fresh ends it


def order_back(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    closing = memory.direction is Direction.CLOSING
    _order_to(memory, settings, seen, now, settings.reversal_distance if closing else settings.opening_relief)


def order_relief(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    if memory.entrapment:
        _order_to(memory, settings, seen, now, min(settings.second_demand_relief, memory.moved / 2))
    else:
        _order_to(memory, settings, seen, now, settings.opening_relief)


def shorten(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    if memory.direction is not None and memory.target is not None:
        relief = memory.origin_at + memory.direction.sign * settings.opening_relief
        opening = memory.direction is Direction.OPENING
        memory.target = min(memory.target, relief) if opening else max(memory.target, relief)


def count(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    memory.interrupted, memory.press_served = memory.direction, memory.direction
    memory.force_served, memory.by_fault, memory.by_beam = True, False, False


def serve(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    """An interrupted beam is the cause: nothing is counted and no alarm sounds."""
    memory.by_beam = True
    if memory.direction is not None:
        memory.beams_met += interrupted(settings, seen, memory.direction)


def blame(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    memory.by_fault = True


def lock(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    standing = seen.motion is None and not memory.ordering and now > memory.ended_at
    for device, word in memory.found:
        latches = is_latched_at_rest(word) if standing else word != UNHEARD
        if latches and (device, word) not in memory.latched:
            latch(memory, settings, device, word)


def lock_both(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    memory.lock_opening = memory.lock_closing = True


def lock_all(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    memory.entrapment, memory.alarm_silenced, memory.force_served = True, False, True
    memory.alarm_until = now + settings.alarm_time
    memory.dwell_until = FOREVER
    disarm(memory, settings, seen, now)
    forget(memory, settings, seen, now)


def shut_off(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    memory.drive_fault = memory.drive_why or "travel time over"
    memory.notices += ((memory.drive_fault, "drive"),)
    stop_order(memory, settings, seen, now)
    disarm(memory, settings, seen, now)
    forget(memory, settings, seen, now)


def complete(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    if memory.interrupted is memory.direction or settings.count_cleared_at_any_end:
        memory.interrupted = None
    opened = memory.direction is Direction.OPENING and memory.fresh
    memory.armed = opened and settings.automatic_closing is not None


def reached(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    if settings.count_cleared_at_any_end:
        memory.interrupted = None


def measure(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    memory.moved = abs(seen.position - memory.origin_at)
    memory.dwell_until = now + settings.reversal_dwell


def refuse(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    if memory.command is None:
        return
    command, origin, direction = memory.command
    why = memory.why or _why_not(memory, settings, seen, now, command, direction)
    memory.refused += ((command, origin, *why),)
    memory.why = None


def _why_not(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float, command: Command,
             direction: Direction) -> tuple[str, str]:
    if command in (Command.HOLD_OPEN, Command.HOLD_CLOSE):
        why = why_no_hold(memory, settings, seen)
    else:
        why = blocker(memory, settings, seen, direction, now)
        if why is None and memory.mode is Mode.REST and (silent := unanswered(settings, seen, direction, memory.ask)):
            why = ("no answer to the test", silent)
    return why or (f"not now: {memory.mode.value}", "")


def refuse_reset(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    why = why_no_reset(memory, settings, seen) or (f"not now: {memory.mode.value}", "")
    memory.refused += ((Command.RESET, Origin.WIRED, *why),)


def clear(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    """Clear healed faults only, and never move."""
    memory.latched = unhealed(memory)
    memory.lock_opening = memory.lock_closing = False
    for device, _ in memory.latched:
        _lock_sides(memory, settings, sides_of(settings, device))
    if memory.entrapment:
        memory.interrupted = None
    memory.entrapment, memory.drive_fault, memory.force_served = False, "", False
    memory.alarm_until, memory.alarm_silenced = -1.0, False
    memory.stop_until = FOREVER
    disarm(memory, settings, seen, now)


def warn(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    memory.warn_until, memory.test_until = now + settings.closing_warning, FOREVER
    memory.notices += (("about to close", ""),)


def disarm(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    memory.armed, memory.close_at = False, FOREVER


def rearm(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    """Start the pause of automatic closing (again); a fresh command to open at the open end arms it."""
    command = memory.command
    if command is not None and command[1] is not Origin.AUTOMATIC and command[2] is Direction.OPENING:
        memory.armed = settings.automatic_closing is not None
    if memory.armed and settings.automatic_closing is not None:
        memory.close_at = now + settings.automatic_closing


def forget(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    memory.command = None
    memory.test_until = memory.warn_until = FOREVER


def void(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    memory.void, memory.new = seen.controls, frozenset()


def listen(memory: Memory, seen: ControllerSeen, now: float) -> None:
    """Say so once when the alarm is ordered and not read back as sounding."""
    if memory.do is None or not memory.do.alarm or seen.sounder:
        memory.heard_by = FOREVER
    elif memory.heard_by == FOREVER:
        memory.heard_by = now + READ_BACK
    elif 0 <= memory.heard_by <= now:
        memory.notices += (("alarm does not sound", "sounder"),)
        memory.heard_by = -1.0


def open_pairing(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    """Pairing itself happens in the receiver; the controller's part is that nothing moves meanwhile."""
    memory.pairing_until = now + PAIRING_TIME


def close_pairing(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
    memory.pairing_until = FOREVER
