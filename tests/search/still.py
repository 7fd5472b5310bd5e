"""Controllers that never move a gate, each in its own way."""

from __future__ import annotations

from typing import Any

from gatesim.events import Brake, Command, Direction, Lockout
from gatesim.plant.logic.contract import ControllerDo, ControllerSeen

OFF = ControllerDo(order=None, slow=False, main=False, brake=Brake.HOLD, alarm=False, lockout=Lockout.NONE,
                   armed=False, mode="off", ask=0, watch=None, wake=None, keep=b"")
WAYS = {Command.OPEN: Direction.OPENING, Command.CLOSE: Direction.CLOSING}


class IgnoresEverything:
    """Sees nothing, does nothing."""

    def start(self, settings: Any, kept: bytes | None) -> tuple[int, ControllerDo]:
        return 0, OFF

    def step(self, state: int, seen: ControllerSeen, now: float) -> tuple[int, ControllerDo]:
        return 0, OFF


class RefusesEverything:
    """Refuses every command."""

    def start(self, settings: Any, kept: bytes | None) -> tuple[Any, ControllerDo]:
        return frozenset(), OFF

    def step(self, state: Any, seen: ControllerSeen, now: float) -> tuple[Any, ControllerDo]:
        new = sorted(seen.controls - state, key=str)
        return seen.controls, OFF._replace(refused=tuple((command, origin, "no", "") for command, origin in new))


class StopsAlways:
    """Energises at each command, and stops a microsecond later, before anything moves."""

    def start(self, settings: Any, kept: bytes | None) -> tuple[Any, ControllerDo]:
        return (frozenset(), False), OFF

    def step(self, state: Any, seen: ControllerSeen, now: float) -> tuple[Any, ControllerDo]:
        controls, ordered = state
        way = next((WAYS[command] for command, _ in seen.controls - controls if command in WAYS), None)
        if ordered or way is None:
            return (seen.controls, False), OFF
        return (seen.controls, True), OFF._replace(order=way, main=True, brake=Brake.RELEASE, wake=now + 1)


class LockedAlways:
    """Says that it is locked out, sounds the alarm, and keeps that."""

    def start(self, settings: Any, kept: bytes | None) -> tuple[int, ControllerDo]:
        return 0, OFF._replace(alarm=True, lockout=Lockout.ENTRAPMENT, keep=b"locked")

    def step(self, state: int, seen: ControllerSeen, now: float) -> tuple[int, ControllerDo]:
        return 0, OFF._replace(alarm=True, lockout=Lockout.ENTRAPMENT, keep=b"locked")
