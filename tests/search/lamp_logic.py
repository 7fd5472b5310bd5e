"""A user's controller in little, with its own table: OPEN opens, STOP stops, and a third state that nothing leaves."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum
from typing import Any

from gatesim.events import Brake, Command, Direction, Lockout
from gatesim.plant.fsm import Row, Table
from gatesim.plant.logic.contract import ControllerDo, ControllerSeen, ControllerSettings


class Mode(Enum):
    STILL = "still"
    RUNS = "runs"
    STUCK = "stuck"
    SPARE = "spare"


class Trigger(Enum):
    GO = "go"
    STOP = "stop"
    EDGE_FAULT = "edge fault"


class Guard(Enum):
    AT_OPEN = "at the open end"


class Action(Enum):
    START = "start"
    END = "end"


TABLE: Table[Mode, Trigger, Guard, Action] = Table(Mode, Trigger, Mode.STILL, [
    Row(Mode.STILL, Trigger.GO, (Guard.AT_OPEN,), Mode.STILL, ()),
    Row(Mode.STILL, Trigger.GO, (), Mode.RUNS, (Action.START,)),
    Row(Mode.RUNS, Trigger.STOP, (), Mode.STILL, (Action.END,)),
    Row(Mode.RUNS, Trigger.EDGE_FAULT, (), Mode.STUCK, (Action.END,)),
    Row(Mode.RUNS, Trigger.GO, (), Mode.RUNS, ()),
], [(Mode.STILL, Trigger.STOP), (Mode.STILL, Trigger.EDGE_FAULT),
    *((mode, trigger) for mode in (Mode.STUCK, Mode.SPARE) for trigger in Trigger)], checked=False)


@dataclass
class Memory:
    mode: Mode
    order: Direction | None = None

    def copy(self) -> Memory:
        return replace(self)


class Lamp:
    """Meets `contract.Controller`."""

    def __init__(self) -> None:
        self.fire = TABLE.fire  # kept from its beginning

    def start(self, settings: ControllerSettings, kept: bytes | None) -> tuple[Memory, ControllerDo]:
        memory = Memory(Mode.STILL)
        return memory, self._do(memory)

    def step(self, state: Memory, seen: ControllerSeen, now: float) -> tuple[Memory, ControllerDo]:
        there = {
            Trigger.EDGE_FAULT: any(not report.fresh for report in seen.reports if report.heard),
            Trigger.STOP: any(command is Command.STOP for command, _ in seen.controls) or seen.at_open,
            Trigger.GO: any(command is Command.OPEN for command, _ in seen.controls),
        }
        for trigger in (trigger for trigger, is_there in there.items() if is_there):
            row: Any = self.fire(state.mode, trigger, lambda guard: seen.at_open)
            if row is not None:
                state.mode = row.target
                for action in row.actions:
                    state.order = Direction.OPENING if action is Action.START else None
        return state, self._do(state)

    def _do(self, memory: Memory) -> ControllerDo:
        return ControllerDo(memory.order, False, memory.order is not None, Brake.HOLD, False, Lockout.NONE, False,
                            memory.mode.value, 0, None, None, b"")


class Mute(Lamp):
    """It has the table and never asks it."""

    def step(self, state: Memory, seen: ControllerSeen, now: float) -> tuple[Memory, ControllerDo]:
        return state, self._do(state)
