"""The reference controller's state machine: one table, and nothing that affects a transition stands elsewhere.

A *move* is automatic (it goes on without a hand on a control) in OPENING and CLOSING, and while a reversal or a
relief is
under way.  What the leaf does after a stop is a mode of its own, never a flag.  DEMAND is raised for a contact ahead
only,
FAULT for a device that guards the direction of motion (or, at rest, for any), INTERRUPTED for a beam ahead.  Rows are
tried in order.
"""

from __future__ import annotations

from enum import Enum

from gatesim.plant.fsm import Row, Table


class Mode(Enum):
    """What the controller is doing."""

    REST = "at rest"
    TESTING = "testing before a move"
    WARNING = "warning before automatic closing"
    OPENING = "opening"
    CLOSING = "closing"
    STOPPING = "stopping"
    STOPPING_AT_END = "stopping at an end"
    STOPPING_TO_REVERSE = "stopping to reverse"
    DWELL = "standing before the reversal"
    REVERSING = "reversing"
    STOPPING_TO_LOCK = "stopping to lock out"
    LOCK_DWELL = "standing before the relief"
    RELIEVING = "relieving"
    ENTRAPMENT = "entrapment lockout"
    HOLDING = "hold-to-run"
    HOLD_STOPPING = "stopping hold-to-run"
    DRIVE_LOCKOUT = "drive lockout"
    PAIRING = "pairing"


class Trigger(Enum):
    """What can happen to it."""

    DRIVE_FAULT = "drive fault"
    TRAVEL_TIME = "travel time over"
    DEMAND = "demand"
    FAULT = "supervision fault"
    INTERRUPTED = "beam interrupted"
    STOP = "stop command"
    LIMIT = "end reached"
    DISTANCE = "distance done"
    STANDSTILL = "standstill"
    RESET = "reset"
    PAIR = "pairing command"
    HOLD_ENDED = "hold-to-run ended"
    HOLD = "hold-to-run command"
    START = "start command"
    TEST_FAILED = "test failed"
    TEST_PASSED = "test passed"
    PRESSED_WAITING = "pressed while waiting"
    WARNING_OVER = "warning over"
    DWELL_OVER = "dwell over"
    PAIRING_OVER = "pairing over"


class Guard(Enum):
    """What a row may depend on."""

    SECOND = "second demand"
    WAY_BACK = "way back guarded"
    MAY_START = "start allowed"
    MAY_HOLD = "hold-to-run allowed"
    MAY_RESET = "reset allowed"
    AT_END = "already at that end"
    AUTOMATIC = "automatic origin"
    OPENS = "towards open"
    OTHER_WAY = "the other way"
    PENDING = "a command waits"
    BACK_PRESSED = "edge pressed on the way back"
    BACK_INTERRUPTED = "beam interrupted on the way back"
    BY_FAULT = "caused by a fault"
    BY_BEAM = "caused by a beam"
    RELIEF = "relief set"


class Action(Enum):
    """What a row does beside changing the mode."""

    ASK = "ask the devices"
    GO = "order the move"
    HOLD_ORDER = "order the slow move"
    STOP_ORDER = "end the order"
    ORDER_BACK = "order the reversal"
    ORDER_RELIEF = "order the relief"
    SHORTEN = "shorten to the relief"
    BLAME = "note the fault as the cause"
    SERVE = "note the beam as the cause"
    COUNT = "count the demand"
    LOCK = "lock out the guarded direction"
    LOCK_BOTH = "lock out both directions"
    LOCK_ALL = "lock out everything, alarm"
    SHUT_OFF = "open the main shut-off, lock out everything"
    COMPLETE = "movement completed"
    REACHED = "end reached otherwise"
    MEASURE = "note the position"
    REFUSE = "refuse the command"
    REFUSE_RESET = "refuse the reset"
    CLEAR = "clear healed faults"
    WARN = "warn"
    DISARM = "cancel automatic closing"
    REARM = "restart the pause"
    FORGET = "drop the waiting command"
    OPEN_PAIRING = "open the pairing window"
    CLOSE_PAIRING = "close the pairing window"
    VOID = "controls held must be released first"


M, T, G, A = Mode, Trigger, Guard, Action

_WAITING = (M.TESTING, M.WARNING)
_MOVING = (M.OPENING, M.CLOSING)
_DRIVEN = (M.OPENING, M.CLOSING, M.STOPPING, M.STOPPING_AT_END, M.STOPPING_TO_REVERSE, M.DWELL, M.REVERSING,
           M.STOPPING_TO_LOCK, M.LOCK_DWELL, M.RELIEVING, M.HOLDING, M.HOLD_STOPPING, M.REST, M.TESTING, M.WARNING,
           M.PAIRING)
_REFUSING = (M.STOPPING_TO_REVERSE, M.DWELL, M.REVERSING, M.STOPPING_TO_LOCK, M.LOCK_DWELL, M.RELIEVING, M.ENTRAPMENT,
             M.DRIVE_LOCKOUT, M.PAIRING)


def _rest() -> list[Row]:
    rest = [
        Row(M.REST, T.START, (G.AT_END,), M.REST, (A.REARM, A.FORGET)),
        Row(M.REST, T.START, (G.MAY_START,), M.TESTING, (A.ASK,)),
        Row(M.REST, T.START, (), M.REST, (A.REFUSE, A.DISARM, A.FORGET)),
        Row(M.REST, T.HOLD, (G.MAY_HOLD,), M.HOLDING, (A.HOLD_ORDER, A.DISARM)),
        Row(M.REST, T.HOLD, (), M.REST, (A.REFUSE, A.FORGET)),
        Row(M.REST, T.STOP, (), M.REST, (A.DISARM,)),
        Row(M.REST, T.RESET, (G.MAY_RESET,), M.REST, (A.CLEAR, A.VOID)),
        Row(M.REST, T.RESET, (), M.REST, (A.REFUSE_RESET,)),
        Row(M.REST, T.PAIR, (), M.PAIRING, (A.OPEN_PAIRING, A.DISARM)),
        Row(M.REST, T.FAULT, (), M.REST, (A.LOCK, A.DISARM)),
        Row(M.REST, T.PRESSED_WAITING, (), M.REST, (A.REARM,)),
        *(Row(M.PAIRING, trigger, (), M.REST, (A.CLOSE_PAIRING,)) for trigger in (T.PAIR, T.PAIRING_OVER, T.STOP)),
        Row(M.PAIRING, T.FAULT, (), M.PAIRING, (A.LOCK,)),
    ]
    for mode in _WAITING:
        rest += [
            Row(mode, T.START, (G.MAY_START,), M.TESTING, (A.ASK,)),
            Row(mode, T.START, (), M.REST, (A.REFUSE, A.DISARM, A.FORGET)),
            Row(mode, T.STOP, (), M.REST, (A.DISARM, A.FORGET)),
            Row(mode, T.FAULT, (), M.REST, (A.LOCK, A.REFUSE, A.DISARM, A.FORGET)),
            Row(mode, T.TEST_FAILED, (), M.REST, (A.REFUSE, A.DISARM, A.FORGET)),
            Row(mode, T.PRESSED_WAITING, (G.AUTOMATIC,), M.REST, (A.REARM, A.FORGET)),
            Row(mode, T.PRESSED_WAITING, (), M.REST, (A.REFUSE, A.DISARM, A.FORGET)),
        ]
    return [
        *rest,
        Row(M.TESTING, T.TEST_PASSED, (G.AUTOMATIC,), M.WARNING, (A.WARN,)),
        Row(M.TESTING, T.TEST_PASSED, (G.OPENS,), M.OPENING, (A.GO,)),
        Row(M.TESTING, T.TEST_PASSED, (), M.CLOSING, (A.GO,)),
        Row(M.WARNING, T.WARNING_OVER, (G.OPENS,), M.OPENING, (A.GO,)),
        Row(M.WARNING, T.WARNING_OVER, (), M.CLOSING, (A.GO,)),
    ]


def _move() -> list[Row]:
    rows: list[Row] = []
    for mode in _MOVING:
        rows += [
            Row(mode, T.TRAVEL_TIME, (), M.DRIVE_LOCKOUT, (A.SHUT_OFF,)),
            Row(mode, T.DEMAND, (G.SECOND,), M.STOPPING_TO_LOCK, (A.STOP_ORDER, A.LOCK_ALL)),
            Row(mode, T.DEMAND, (), M.STOPPING_TO_REVERSE, (A.STOP_ORDER, A.COUNT, A.DISARM)),
            Row(mode, T.FAULT, (G.WAY_BACK,), M.STOPPING_TO_REVERSE, (A.STOP_ORDER, A.BLAME, A.LOCK, A.DISARM)),
            Row(mode, T.FAULT, (), M.STOPPING, (A.STOP_ORDER, A.BLAME, A.LOCK, A.LOCK_BOTH, A.DISARM)),
            Row(mode, T.INTERRUPTED, (), M.STOPPING_TO_REVERSE, (A.STOP_ORDER, A.SERVE, A.DISARM)),
            Row(mode, T.STOP, (), M.STOPPING, (A.STOP_ORDER, A.DISARM, A.FORGET)),
            Row(mode, T.HOLD, (), M.STOPPING, (A.STOP_ORDER, A.DISARM, A.FORGET, A.VOID)),
            Row(mode, T.START, (G.OTHER_WAY,), M.STOPPING, (A.STOP_ORDER, A.DISARM)),
            Row(mode, T.START, (), mode, (A.FORGET,)),
            Row(mode, T.LIMIT, (), M.STOPPING_AT_END, (A.STOP_ORDER, A.COMPLETE)),
        ]
    return [
        *rows,
        Row(M.HOLDING, T.TRAVEL_TIME, (), M.DRIVE_LOCKOUT, (A.SHUT_OFF,)),
        *(Row(M.HOLDING, trigger, (), M.HOLD_STOPPING, (A.STOP_ORDER, A.VOID))
          for trigger in (T.HOLD_ENDED, T.DEMAND, T.INTERRUPTED, T.STOP, T.LIMIT)),
        Row(M.HOLD_STOPPING, T.STANDSTILL, (), M.REST, (A.VOID,)),
        Row(M.HOLD_STOPPING, T.FAULT, (), M.HOLD_STOPPING, (A.LOCK,)),
        Row(M.HOLD_STOPPING, T.START, (), M.HOLD_STOPPING, (A.REFUSE, A.FORGET)),
        Row(M.HOLDING, T.FAULT, (), M.HOLDING, (A.LOCK,)),
        Row(M.HOLDING, T.START, (), M.HOLDING, (A.REFUSE, A.FORGET)),
    ]


def _stop() -> list[Row]:
    return [
        Row(M.STOPPING, T.DEMAND, (G.SECOND,), M.STOPPING_TO_LOCK, (A.LOCK_ALL,)),
        Row(M.STOPPING, T.DEMAND, (), M.STOPPING_TO_REVERSE, (A.COUNT, A.DISARM, A.FORGET)),
        Row(M.STOPPING, T.FAULT, (), M.STOPPING, (A.LOCK,)),
        Row(M.STOPPING, T.STOP, (), M.STOPPING, (A.FORGET,)),
        Row(M.STOPPING, T.START, (), M.STOPPING, ()),
        Row(M.STOPPING, T.STANDSTILL, (G.PENDING, G.AT_END), M.REST, (A.REARM, A.FORGET)),
        Row(M.STOPPING, T.STANDSTILL, (G.PENDING, G.MAY_START), M.TESTING, (A.ASK,)),
        Row(M.STOPPING, T.STANDSTILL, (G.PENDING,), M.REST, (A.REFUSE, A.FORGET)),
        Row(M.STOPPING, T.STANDSTILL, (), M.REST, ()),
        Row(M.STOPPING_AT_END, T.FAULT, (), M.STOPPING_AT_END, (A.LOCK,)),
        Row(M.STOPPING_AT_END, T.STOP, (), M.STOPPING_AT_END, (A.DISARM,)),
        Row(M.STOPPING_AT_END, T.START, (), M.STOPPING_AT_END, (A.REFUSE, A.FORGET)),
        Row(M.STOPPING_AT_END, T.STANDSTILL, (), M.REST, (A.REARM,)),
        Row(M.STOPPING_TO_REVERSE, T.STANDSTILL, (), M.DWELL, (A.MEASURE,)),
        # What a beam saw first has not been felt yet: a press after it is a demand of its own.
        Row(M.STOPPING_TO_REVERSE, T.DEMAND, (G.BY_BEAM, G.SECOND), M.STOPPING_TO_LOCK, (A.LOCK_ALL,)),
        Row(M.STOPPING_TO_REVERSE, T.DEMAND, (G.BY_BEAM,), M.STOPPING_TO_REVERSE, (A.COUNT,)),
        Row(M.STOPPING_TO_REVERSE, T.DEMAND, (), M.STOPPING_TO_REVERSE, ()),
        Row(M.STOPPING_TO_REVERSE, T.FAULT, (), M.STOPPING_TO_REVERSE, (A.LOCK,)),
        Row(M.STOPPING_TO_REVERSE, T.STOP, (), M.STOPPING, (A.FORGET,)),
        Row(M.DWELL, T.DWELL_OVER, (G.BACK_PRESSED, G.BY_BEAM), M.REST, ()),  # nobody is squeezed: no alarm
        Row(M.DWELL, T.DWELL_OVER, (G.BACK_PRESSED,), M.ENTRAPMENT, (A.LOCK_ALL,)),
        Row(M.DWELL, T.DWELL_OVER, (G.BACK_INTERRUPTED, G.BY_FAULT), M.REST, ()),
        Row(M.DWELL, T.DWELL_OVER, (G.BACK_INTERRUPTED, G.BY_BEAM), M.REST, ()),
        Row(M.DWELL, T.DWELL_OVER, (G.BACK_INTERRUPTED,), M.REVERSING, (A.ORDER_RELIEF,)),
        Row(M.DWELL, T.DWELL_OVER, (G.WAY_BACK,), M.REVERSING, (A.ORDER_BACK,)),
        Row(M.DWELL, T.DWELL_OVER, (G.BY_FAULT,), M.REST, (A.LOCK_BOTH,)),
        Row(M.DWELL, T.DWELL_OVER, (G.BY_BEAM,), M.REST, ()),
        Row(M.DWELL, T.DWELL_OVER, (), M.REVERSING, (A.ORDER_RELIEF,)),
        Row(M.DWELL, T.FAULT, (), M.DWELL, (A.LOCK,)),
        Row(M.DWELL, T.STOP, (), M.REST, ()),
    ]


def _reverse() -> list[Row]:
    rows = [
        Row(M.REVERSING, T.TRAVEL_TIME, (), M.DRIVE_LOCKOUT, (A.SHUT_OFF,)),
        Row(M.REVERSING, T.DEMAND, (G.SECOND,), M.STOPPING_TO_LOCK, (A.STOP_ORDER, A.LOCK_ALL)),
        Row(M.REVERSING, T.DEMAND, (), M.STOPPING_TO_REVERSE, (A.STOP_ORDER, A.COUNT)),
        Row(M.REVERSING, T.FAULT, (G.BY_FAULT,), M.STOPPING, (A.STOP_ORDER, A.LOCK, A.LOCK_BOTH)),
        Row(M.REVERSING, T.FAULT, (G.BY_BEAM,), M.STOPPING, (A.STOP_ORDER, A.LOCK)),
        Row(M.REVERSING, T.FAULT, (), M.REVERSING, (A.LOCK, A.SHORTEN)),
        Row(M.REVERSING, T.INTERRUPTED, (), M.STOPPING, (A.STOP_ORDER,)),
        Row(M.REVERSING, T.STOP, (), M.STOPPING, (A.STOP_ORDER,)),
        Row(M.REVERSING, T.LIMIT, (), M.STOPPING_AT_END, (A.STOP_ORDER, A.REACHED)),
        Row(M.REVERSING, T.DISTANCE, (), M.STOPPING, (A.STOP_ORDER,)),
        Row(M.STOPPING_TO_LOCK, T.STANDSTILL, (G.RELIEF,), M.LOCK_DWELL, (A.MEASURE,)),
        Row(M.STOPPING_TO_LOCK, T.STANDSTILL, (), M.ENTRAPMENT, ()),
        Row(M.LOCK_DWELL, T.DWELL_OVER, (G.BACK_PRESSED,), M.ENTRAPMENT, ()),
        Row(M.LOCK_DWELL, T.DWELL_OVER, (), M.RELIEVING, (A.ORDER_RELIEF,)),
        Row(M.LOCK_DWELL, T.STOP, (), M.ENTRAPMENT, ()),
        Row(M.RELIEVING, T.TRAVEL_TIME, (), M.DRIVE_LOCKOUT, (A.SHUT_OFF,)),
    ]
    rows += [Row(mode, T.FAULT, (), mode, (A.LOCK,)) for mode in (M.STOPPING_TO_LOCK, M.LOCK_DWELL)]
    rows += [Row(M.RELIEVING, trigger, (), M.ENTRAPMENT, (A.STOP_ORDER,))
             for trigger in (T.DEMAND, T.FAULT, T.INTERRUPTED, T.STOP, T.LIMIT, T.DISTANCE)]
    for mode in (M.ENTRAPMENT, M.DRIVE_LOCKOUT):
        rows += [
            Row(mode, T.RESET, (G.MAY_RESET,), M.REST, (A.CLEAR, A.VOID)),
            Row(mode, T.RESET, (), mode, (A.REFUSE_RESET,)),
            Row(mode, T.FAULT, (), mode, (A.LOCK,)),
        ]
    for mode in _REFUSING:
        rows += [Row(mode, T.START, (), mode, (A.REFUSE, A.FORGET)), Row(mode, T.HOLD, (), mode, (A.REFUSE, A.FORGET))]
    rows += [Row(mode, T.RESET, (), mode, (A.REFUSE_RESET,)) for mode in Mode
             if mode not in (M.REST, M.ENTRAPMENT, M.DRIVE_LOCKOUT)]
    rows += [Row(mode, T.DRIVE_FAULT, (), M.DRIVE_LOCKOUT, (A.SHUT_OFF,)) for mode in _DRIVEN]
    return rows


_ROWS = [*_rest(), *_move(), *_stop(), *_reverse()]

_ANSWERED = {(row.mode, row.trigger) for row in _ROWS}

_IGNORED_ON_PURPOSE: dict[Trigger, tuple[Mode, ...]] = {
    # Already locked out with the main shut-off open: nothing more can be taken away.
    T.DRIVE_FAULT: (M.ENTRAPMENT, M.DRIVE_LOCKOUT),
    # Only a running order has a travel time.
    T.TRAVEL_TIME: tuple(m for m in M if m not in (*_MOVING, M.HOLDING, M.REVERSING, M.RELIEVING)),
    # One obstruction is one demand; at rest, at the end switch and in a lockout a press orders nothing.
    T.DEMAND: (M.REST, M.TESTING, M.WARNING, M.STOPPING_AT_END, M.HOLD_STOPPING, M.DWELL, M.STOPPING_TO_LOCK,
               M.LOCK_DWELL, M.ENTRAPMENT, M.DRIVE_LOCKOUT, M.PAIRING),
    # Nothing is felt: a leaf that already stops goes on stopping, and at rest the start is refused instead.
    T.INTERRUPTED: tuple(m for m in M if m not in (*_MOVING, M.HOLDING, M.REVERSING, M.RELIEVING)),
    # The order has already ended, or never comes back.
    T.STOP: (M.HOLD_STOPPING, M.STOPPING_TO_LOCK, M.ENTRAPMENT, M.DRIVE_LOCKOUT),
    T.LIMIT: tuple(m for m in M if m not in (*_MOVING, M.HOLDING, M.REVERSING, M.RELIEVING)),
    T.DISTANCE: tuple(m for m in M if m not in (M.REVERSING, M.RELIEVING)),
    T.STANDSTILL: tuple(m for m in M if m not in (M.STOPPING, M.STOPPING_AT_END, M.STOPPING_TO_REVERSE,
                                                  M.STOPPING_TO_LOCK, M.HOLD_STOPPING)),
    # Pairing begins at rest only.
    T.PAIR: tuple(m for m in M if m not in (M.REST, M.PAIRING)),
    T.HOLD_ENDED: tuple(m for m in M if m is not M.HOLDING),
    T.HOLD: (M.TESTING, M.WARNING, M.STOPPING, M.STOPPING_AT_END, M.HOLDING, M.HOLD_STOPPING),
    T.TEST_FAILED: tuple(m for m in M if m not in _WAITING),
    T.TEST_PASSED: tuple(m for m in M if m is not M.TESTING),
    T.PRESSED_WAITING: tuple(m for m in M if m not in (*_WAITING, M.REST)),
    T.WARNING_OVER: tuple(m for m in M if m is not M.WARNING),
    T.DWELL_OVER: tuple(m for m in M if m not in (M.DWELL, M.LOCK_DWELL)),
    T.PAIRING_OVER: tuple(m for m in M if m is not M.PAIRING),
}

TABLE: Table[Mode, Trigger, Guard, Action] = Table(
    Mode, Trigger, Mode.REST, _ROWS,
    [(mode, trigger) for trigger, modes in _IGNORED_ON_PURPOSE.items() for mode in modes])
