"""What a leaf with a motor does in each case: driven, cut off, braked, coasting, released.

The counterpart of the leaf's own planning for stated accelerations (leaf.py): the same inputs, the same plan of pieces,
but out of forces.  docs/timing.md, section 11.
"""

from __future__ import annotations

from typing import NamedTuple, Protocol

from gatesim.plant.dynamics import Dynamics, backlash_time
from gatesim.plant.motion import Pieces, Ramp, rest
from gatesim.plant.site import Drive
from gatesim.plant.solve import End, solve
from gatesim.plant.wires import Block, Piece

_MOST_SWINGS = 64
"""Of a released leaf to and fro before it is taken to stand."""


class Memory(NamedTuple):
    """What the drive's past leaves behind: the sign of the last move, and the move whose thrust runs out.

    `push`: its sign, 0 for none; `slow`: whether it was a slow one.
    """

    last: int = 0
    push: int = 0
    slow: bool = False


class Told(Protocol):
    """What matters of the leaf's inputs; `drive` as a sign."""

    @property
    def coasts(self) -> bool: ...
    @property
    def released(self) -> bool: ...
    @property
    def deceleration(self) -> float: ...
    @property
    def blocks(self) -> tuple[Block, ...]: ...


class Driven(NamedTuple):
    """A leaf's drive and its forces."""

    drive: Drive
    forces: Dynamics

    def ramp(self, sign: int, slow: bool) -> Ramp:
        """The drive's ceiling and its ramps."""
        drive = self.drive
        full = drive.speed_opening if sign > 0 else drive.speed_closing
        return Ramp(drive.slow_speed if slow else full, drive.slow_speed, drive.slow_zone, drive.acceleration,
                    drive.deceleration)

    def delay(self, memory: Memory, sign: int, slow: bool) -> float:
        """From energised at rest to moving: the start delay, and the backlash when the last move went the other way."""
        if memory.last in (0, sign):
            return self.drive.start_delay
        return self.drive.start_delay + backlash_time(self.forces.backlash, self.drive, self.ramp(sign, slow).target)

    def _brake(self, told: Told) -> float:
        if told.coasts or told.released:
            return 0.0
        return self.forces.brake * told.deceleration / self.drive.stopping_deceleration

    def energised(self, told: Told, sign: int, slow: bool, now: float, ready: float, x: float, v: float,
                  memory: Memory) -> tuple[Pieces, float]:
        """The plan under drive, and from when on the thrust acts."""
        first: Pieces = ()
        t = now
        if v * sign < 0:
            halted = solve(self.forces, told.blocks, now, x, v, -sign, None, self._brake(told))
            first, t, x, v = halted.pieces, halted.t, halted.x, 0.0
            ready = t + self.delay(memory._replace(last=-sign), sign, slow)
        elif v == 0 and ready > now:
            first = rest(now, x)
        if v == 0 and ready > t:
            t = ready
        way = solve(self.forces, told.blocks, t, x, v, sign, self.ramp(sign, slow))
        if first and len(way.pieces) == 1:
            return first, ready
        return (*first, *way.pieces), ready

    def cut_off(self, told: Told, now: float, ready: float, x: float, v: float, memory: Memory) -> Pieces:
        """Not energised: the thrust until `ready`, then the brake to rest, and on from there where nothing holds it."""
        made: list[Piece] = []
        end = End((), now, x, v)
        if v * memory.push > 0 and ready > now:
            end = solve(self.forces, told.blocks, now, x, v, memory.push, self.ramp(memory.push, memory.slow),
                        until=ready)
            made += end.pieces
        if end.v != 0:
            sign = 1 if end.v > 0 else -1
            end = solve(self.forces, told.blocks, end.t, end.x, end.v, sign, None, self._brake(told))
            made += end.pieces
        if told.released or told.coasts:
            made += self._adrift(told, end, made)
        return tuple(made) if made else rest(now, x)

    def _adrift(self, told: Told, end: End, made: list[Piece]) -> list[Piece]:
        """A leaf at rest that nothing holds: pushed by a squeeze, slope or wind, to and fro until it stays."""
        found: list[Piece] = []
        for _ in range(_MOST_SWINGS):
            for sign in (1, -1):
                way = solve(self.forces, told.blocks, end.t, end.x, 0.0, sign, None)
                if len(way.pieces) > 1:
                    break
            else:
                break
            if found or made:
                (found or made).pop()
            found += way.pieces
            end = way
        return found


def remembered(memory: Memory, driven: int, ready: float, now: float) -> Memory:
    """The memory once a drive with this sign has moved the leaf (or has had its thrust on it)."""
    return memory._replace(last=driven) if driven and now >= ready else memory
