"""The reference controller: image in, orders out, by the table of `controller_table.py`.

A step has four stages: note the image (buttons, ages), find what happened (triggers, the most urgent first), let the
table answer
until nothing is left, and put out the orders with the next wake.  The rules are those of docs/timing.md section 8 and
docs/cause-and-effect.md.
"""

from __future__ import annotations

from collections.abc import Callable

from gatesim.events import Brake, Direction, Origin
from gatesim.plant.logic import controller_actions as actions
from gatesim.plant.logic.contract import ControllerDo, ControllerSeen, ControllerSettings
from gatesim.plant.logic.controller_memory import Memory, lockout_of, restore, to_keep
from gatesim.plant.logic.controller_table import TABLE, Action, Guard, Mode, Trigger
from gatesim.plant.logic.controller_triggers import buttons, find, note_other_side
from gatesim.plant.logic.supervision import (
    blocker,
    interrupted,
    note_reports,
    pressed,
    troubles,
    way_back_guarded,
)
from gatesim.units import FOREVER

NAME = "reference"
_STEPS = 24  # more triggers in one step than the table can chain would be a loop


def holds(memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float, guard: Guard) -> bool:
    """Whether a guard holds.  `memory.command` is the command in hand, `memory.direction` that of the present order."""
    command, direction = memory.command, memory.direction
    match guard:
        case Guard.SECOND:
            return memory.interrupted is not None
        case Guard.WAY_BACK:
            return direction is not None and way_back_guarded(memory, settings, seen, direction.other)
        case Guard.MAY_START:
            return command is not None and blocker(memory, settings, seen, command[2], now) is None
        case Guard.MAY_HOLD:
            return actions.why_no_hold(memory, settings, seen) is None
        case Guard.MAY_RESET:
            return actions.why_no_reset(memory, settings, seen) is None
        case Guard.AT_END:
            return command is not None and (seen.at_open if command[2] is Direction.OPENING else seen.at_closed)
        case Guard.AUTOMATIC:
            return command is not None and command[1] is Origin.AUTOMATIC and command[2] is Direction.CLOSING
        case Guard.OPENS:
            return command is not None and command[2] is Direction.OPENING
        case Guard.OTHER_WAY:
            return command is not None and command[2] is not direction
        case Guard.PENDING:
            return command is not None
        case Guard.BACK_PRESSED:
            return direction is not None and pressed(settings, seen, direction.other)
        case Guard.BACK_INTERRUPTED:
            return direction is not None and bool(interrupted(settings, seen, direction.other))
        case Guard.BY_FAULT:
            return memory.by_fault
        case Guard.BY_BEAM:
            return memory.by_beam
        case Guard.RELIEF:
            return settings.second_demand_relief > 0


class ReferenceController:
    """The operator controller that gatesim ships; meets `contract.Controller`.

    `by_library` lets `transitions` decide each row; without it the same table is looked up (faster, same answers).
    """

    def __init__(self, *, by_library: bool = True) -> None:
        self._fire = TABLE.fire_by_library if by_library else TABLE.fire

    def start(self, settings: ControllerSettings, kept: bytes | None) -> tuple[Memory, ControllerDo]:
        """Power-up: lockouts, the count and the alarm come back; nothing is ordered."""
        memory = Memory(mode=Mode.REST, settings=settings)
        restore(memory, kept, settings.alarm_time)
        if memory.entrapment:
            memory.mode = Mode.ENTRAPMENT
        elif memory.drive_fault:
            memory.mode = Mode.DRIVE_LOCKOUT
        memory.do = put_out(memory, settings, None, 0.0)
        return memory, memory.do

    def step(self, state: Memory, seen: ControllerSeen, now: float) -> tuple[Memory, ControllerDo]:
        """One call: on a changed image or at the wake."""
        settings = state.settings
        self._note(state, settings, seen, now)
        done: list[Trigger] = []
        for _ in range(_STEPS):
            trigger = find(state, settings, seen, now, done)
            if trigger is None:
                break
            done.append(trigger)
            row = self._fire(state.mode, trigger, lambda guard: holds(state, settings, seen, now, guard))
            if row is not None:
                if row.target is not state.mode and Trigger.STANDSTILL in done:
                    done.remove(Trigger.STANDSTILL)
                state.mode = row.target
                for action in row.actions:
                    _DOES[action](state, settings, seen, now)
        state.last, state.fresh_start = seen, False
        before, do = state.do, put_out(state, settings, seen, now)
        if before is None or (before.order, before.main) != (do.order, do.main):
            state.checked_at = now + actions.READ_BACK
            do = put_out(state, settings, seen, now)
        state.do = do
        return state, do

    def _note(self, memory: Memory, settings: ControllerSettings, seen: ControllerSeen, now: float) -> None:
        memory.notices, memory.refused, memory.tested = (), (), ()
        if memory.fresh_start:
            memory.void = seen.controls
            memory.checked_at = now + actions.READ_BACK
            if memory.alarm_until >= 0:
                memory.alarm_until = now + settings.alarm_time
        standing = seen.motion is None and not memory.ordering
        note_reports(memory, seen, standing, now)
        memory.found = troubles(memory, settings, seen, now)
        # What the force sensing reports belongs to the obstruction served until the leaf moves away from it.
        if memory.force_served and not seen.force and memory.ordering and seen.motion is memory.direction:
            memory.force_served = False
        if memory.press_served is not None and memory.ordering and not pressed(settings, seen, memory.press_served):
            memory.press_served = None
        if memory.beams_met:
            there = [beam for direction in Direction for beam in interrupted(settings, seen, direction)]
            memory.beams_met = tuple([beam for beam in memory.beams_met if beam in there])
        if memory.ordering:
            memory.still_since = min(memory.still_since, now) if seen.motion is None else FOREVER
        actions.listen(memory, seen, now)
        buttons(memory, seen, now)
        note_other_side(memory, settings, standing, now)


Does = Callable[[Memory, ControllerSettings, ControllerSeen, float], None]

_DOES: dict[Action, Does] = {action: getattr(actions, action.name.lower()) for action in Action}


def put_out(memory: Memory, settings: ControllerSettings, seen: ControllerSeen | None, now: float) -> ControllerDo:
    """Orders and the next wake from what is remembered."""
    locked = memory.mode in (Mode.ENTRAPMENT, Mode.DRIVE_LOCKOUT)
    # Open at rest, so that every start proves by read-back that it opens.
    main = memory.mode not in (Mode.REST, Mode.TESTING, Mode.WARNING, Mode.PAIRING) and not locked
    alarm = 0 <= now < memory.alarm_until and not memory.alarm_silenced
    order = memory.direction if memory.ordering else None
    return ControllerDo(
        order=order, slow=memory.slow, main=main, brake=Brake.RELEASE if locked else Brake.HOLD, alarm=alarm,
        lockout=lockout_of(memory), armed=memory.armed, mode=memory.mode.value, ask=memory.ask,
        watch=_watch(memory, settings, seen), wake=_wake(memory, settings, now), keep=to_keep(memory),
        notices=memory.notices, refused=memory.refused, tested=memory.tested)


def _watch(memory: Memory, settings: ControllerSettings, seen: ControllerSeen | None) -> float | None:
    if memory.mode in (Mode.REVERSING, Mode.RELIEVING):
        return memory.target
    if not memory.ordering or seen is None or not seen.position_known:
        return None
    # Where the end behind must have been left: a limit switch that still says otherwise is stuck.
    tolerance = actions.END_TOLERANCE + 10.0
    return tolerance if memory.direction is Direction.OPENING else settings.travel - tolerance


def _wake(memory: Memory, settings: ControllerSettings, now: float) -> float | None:
    times = [memory.travel_until, memory.stop_until, memory.dwell_until, memory.test_until, memory.warn_until,
             memory.close_at, memory.pairing_until, memory.checked_at, memory.still_since + settings.start_limit,
             memory.heard_by]
    if now < memory.alarm_until:
        times.append(memory.alarm_until)
    times += [since + settings.press_limit for since in memory.pressed_since]
    if memory.armed or memory.mode in (Mode.TESTING, Mode.WARNING):
        times += [since + settings.recovery_time for since in memory.good_since if since > -FOREVER]
    ahead = [time for time in times if time > now]
    wake = min(ahead, default=FOREVER)
    return None if wake == FOREVER else wake
