"""What a driver can do to a gate: commands, hands, obstructions, faults, pushes, loss of power, or nothing.

A *move* is a few stimuli with their delays (us) from the instant at which it is made.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from gatesim import events as e
from gatesim.events import Command, Direction, Origin
from gatesim.plant.fault import FaultBegins, FaultEnds
from gatesim.plant.faults.catalogue import faults
from gatesim.plant.faults.catalogue import place as placed
from gatesim.plant.site import Site

MS, S = 1_000, 1_000_000
DELAYS = (MS, 450 * MS, 3 * S)
"""How long (us) after the last thing that the logic answered a move is made: at once, in the run-up, in full motion."""


class Move(NamedTuple):
    """Something to do; `stimuli` are (delay us, stimulus)."""

    name: str
    stimuli: tuple[tuple[int, Any], ...]

    def later(self, by: int) -> Move:
        """The same, later."""
        return Move(self.name, tuple((delay + by, stimulus) for delay, stimulus in self.stimuli))

    def named(self, number: int) -> Move:
        """The same, with names of its own for what it puts in the way or breaks."""
        return Move(self.name, tuple((delay, _renamed(stimulus, number)) for delay, stimulus in self.stimuli))


WAIT = Move("wait", ())
_BLOCK, _FAULT = "driver block", "driver fault"


def _renamed(stimulus: Any, number: int) -> Any:
    if isinstance(stimulus, e.EnterObstruction | e.LeaveObstruction):
        return stimulus._replace(obstruction=f"{_BLOCK} {number}")
    if isinstance(stimulus, FaultBegins | FaultEnds):
        return stimulus._replace(key=f"{_FAULT} {number}")
    return stimulus


def _tap(command: Command, origin: Origin = Origin.WIRED, held: int = 300 * MS, at: int = 0) -> Move:
    return Move(f"{command.value} for {held // MS} ms, {origin.value}",
                ((at, e.PressControl(command, origin)), (at + held, e.ReleaseControl(command, origin))))


def both(*moves: Move) -> Move:
    """Several in one."""
    stimuli = sorted((pair for move in moves for pair in move.stimuli), key=lambda pair: pair[0])
    return Move(" and ".join(move.name for move in moves), tuple(stimuli))


def handling(site: Site) -> tuple[Move, ...]:
    """What people and things do."""
    C = Command  # noqa: N806 - short for a table
    found = [_tap(one) for one in (C.OPEN, C.CLOSE, C.STOP, C.RESET, C.PAIR)]
    found += [_tap(C.OPEN, Origin.RADIO), _tap(C.HOLD_CLOSE, Origin.RADIO)]
    found += [_tap(one, held=held) for one in (C.HOLD_OPEN, C.HOLD_CLOSE) for held in (S, 90 * S)]
    found += [
        both(_tap(C.OPEN), _tap(C.CLOSE, at=50 * MS)), both(_tap(C.CLOSE), _tap(C.OPEN, at=50 * MS)),
        both(_tap(C.STOP, held=5 * S), _tap(C.OPEN, at=100 * MS)),
        both(_tap(C.STOP, held=5 * S), _tap(C.CLOSE, at=100 * MS)),
        both(_tap(C.HOLD_OPEN, held=5 * S), _tap(C.HOLD_CLOSE, held=5 * S, at=500 * MS)),
        Move("power lost for 500 ms", ((0, e.LosePower()), (500 * MS, e.ReturnPower())))]
    found += [Move(f"leaf pushed {way.value}", ((0, e.PushLeaf(way, 300_000.0, 0.3, "hand")),)) for way in Direction]
    for edge in site.edges:
        found += [_press(edge.name, held) for held in (200 * MS, 3 * S, 15 * S)]
        found += [both(_press(edge.name, 3 * S), _tap(one, at=60 * MS)) for one in (C.OPEN, C.CLOSE, C.RESET)]
    for beam in site.beams:
        found += [_interrupt(beam.name, held) for held in (200 * MS, 15 * S)]
        found += [both(_interrupt(beam.name, 3 * S), _tap(one, at=60 * MS)) for one in (C.OPEN, C.CLOSE)]
    for direction in Direction:
        found += _obstructions(site, direction)
    return tuple(found)


def _interrupt(beam: str, held: int) -> Move:
    return Move(f"{beam} interrupted for {held // MS} ms",
                ((0, e.InterruptBeam(_BLOCK, beam)), (held, e.ClearBeam(_BLOCK, beam))))


def _press(edge: str, held: int) -> Move:
    return Move(f"{edge} pressed for {held // MS} ms", ((0, e.PressStrip(edge)), (held, e.ReleaseStrip(edge))))


def _obstructions(site: Site, direction: Direction) -> list[Move]:
    zone = next((zone for zone in site.zones if zone.direction is direction), None)
    if zone is None:
        return []
    far = site.gate.travel if direction is Direction.CLOSING else 0.0
    enters = e.EnterObstruction(_BLOCK, zone.name, far, None, True)
    return [Move(f"obstruction in {zone.name}", ((0, enters),)),
            Move(f"obstruction in {zone.name} for 500 ms", ((0, enters), (500 * MS, e.LeaveObstruction(_BLOCK)))),
            both(Move(f"obstruction in {zone.name}", ((0, enters),)), _tap(Command.STOP, at=40 * MS))]


def breaking(site: Site) -> tuple[Move, ...]:
    """Every fault of the catalogue wherever it can sit, for good and for 400 ms."""
    found: list[Move] = []
    for kind in faults().values():
        for spot in kind.places(site):
            where = placed(kind, site, spot.device)
            begins = tuple((0, FaultBegins(_FAULT, where.fault or kind, wire, where.device, where.guard))
                           for wire in where.wires)
            name = f"{kind.id} at {where.device}"
            found += [Move(name, begins), Move(f"{name} for 400 ms", (*begins, (400 * MS, FaultEnds(_FAULT))))]
    return tuple(found)
