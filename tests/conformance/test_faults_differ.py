"""Two fault kinds count as two only if traces differ: at every device, for every pair of kinds, over the whole plant.

Programs are played one after the other: only kinds that no program has told apart yet go on to the next.  What is
said of a disturbed wire as such is left out; what counts is what the plant does.
"""

from __future__ import annotations

import sys
from collections import defaultdict
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest

from gatesim.events import (
    ClearBeam,
    Command,
    EnterObstruction,
    FitCell,
    InterruptBeam,
    LeaveObstruction,
    LosePower,
    Origin,
    PressStrip,
    ReleaseStrip,
    ReturnPower,
    WireDisturbed,
    WireRestored,
)
from gatesim.plant.build import build
from gatesim.plant.fault import Place
from gatesim.plant.faults.catalogue import Kind, faults, place
from gatesim.plant.world import World

sys.path.insert(0, str(Path(__file__).parent))

from fault_bench import SITE, S, Stimuli, Whole, at_place, press, references, together

EDGES = ("nose", "tail", "post", "wall", "jamb", "sill", "lip")


def _strips(at: int, held: int) -> Stimuli:
    return {at: tuple(PressStrip(edge) for edge in EDGES), at + held: tuple(ReleaseStrip(edge) for edge in EDGES)}


def _block(at: int, zone: str, position: float, edge: bool, stays: int) -> Stimuli:
    name = f"block in {zone}"
    return {at: (EnterObstruction(name, zone, position, None, edge),), at + stays: (LeaveObstruction(name),)}


PROGRAMS: dict[str, tuple[Stimuli, int, int]] = {
    # In motion: a contact of the edge on the closing side, the reversal, and a move after it.
    "closing": (
        dict(
            together(
                press(Command.CLOSE, S),
                _block(2 * S, "front", 2.9e6, True, 6 * S),
                press(Command.RESET, 10 * S),
                press(Command.CLOSE, 11 * S),
                press(Command.STOP, 14 * S),
            )
        ),
        int(3.02 * S),
        17 * S,
    ),
    # At rest, then every edge pressed, a start, and a contact beyond the edge that only the force meets.
    "pressed at rest": (
        dict(
            together(
                _strips(int(2.5 * S), S),
                press(Command.CLOSE, 8 * S),
                _block(2 * S, "front", 2.9e6, False, 12 * S),
                press(Command.OPEN, 17 * S),
            )
        ),
        int(2.003 * S),
        20 * S,
    ),
    # While the strips are pressed.
    "in a press": (
        dict(together(_strips(S, 3 * S), press(Command.CLOSE, 8 * S), press(Command.STOP, 10 * S))),
        2 * S,
        13 * S,
    ),
    # A second demand locks out; the supply goes and comes back; a fresh cell.
    "locked out": (
        dict(
            together(
                press(Command.CLOSE, S),
                _block(2 * S, "front", 2.9e6, True, 20 * S),
                press(Command.CLOSE, 12 * S),
                {
                    20 * S: (LosePower(),),
                    21 * S: (ReturnPower(),),
                    23 * S: tuple(FitCell(node.name) for node in SITE.transmitters),
                },
                press(Command.OPEN, 24 * S, Origin.RADIO),
                press(Command.RESET, 30 * S),
                press(Command.CLOSE, 32 * S),
            )
        ),
        int(3.02 * S),
        34 * S,
    ),
    "to the open end": (
        dict(together(press(Command.CLOSE, S), press(Command.STOP, 5 * S), press(Command.OPEN, 7 * S))),
        int(3.02 * S),
        14 * S,
    ),
    # To the closed end, and back to a contact with each edge on the opening side.
    "there and back": (
        dict(
            together(
                press(Command.CLOSE, S),
                _block(2 * S, "front post", 2.9e6, True, 10 * S),
                _block(2 * S + 1, "front jamb", 2.9e6, True, 10 * S),
                _block(2 * S + 2, "front sill", 2.9e6, True, 10 * S),
                _block(2 * S + 3, "front lip", 2.9e6, True, 10 * S),
                press(Command.CLOSE, 14 * S),
                _block(31 * S, "rear wall", 2e6, True, 15 * S),
                _block(31 * S, "rear", 2.4e6, True, 30 * S),
                press(Command.OPEN, 32 * S),
                press(Command.OPEN, 48 * S),
            )
        ),
        int(3.02 * S),
        55 * S,
    ),
}

PROGRAMS["at a beam"] = (
    dict(
        together(
            {S: (InterruptBeam("somebody", "ray"),), 4 * S: (ClearBeam("somebody", "ray"),)},
            press(Command.CLOSE, 6 * S),
            {int(7.3 * S): (InterruptBeam("somebody", "ray"),), 11 * S: (ClearBeam("somebody", "ray"),)},
        )
    ),
    2 * S,
    14 * S,
)

PLANT = build(SITE, references())


class Played:
    """A program up to the instant at which the fault begins, played once."""

    def __init__(self, name: str) -> None:
        agenda, self.begins, self.ends = PROGRAMS[name]
        self.before = Whole(plant=PLANT)
        self.after = {at: stimuli for at, stimuli in agenda.items() if at >= self.begins}
        self.before.play(sorted((at, s) for at, s in agenda.items() if at < self.begins), self.begins)

    def trace(self, where: Place | None) -> tuple[Any, ...]:
        """What happens from there on, with a fault (or none)."""
        whole = object.__new__(Whole)
        whole.plant, whole.world, whole.trace = PLANT, self.before.world.copy(), []
        fault = at_place(where, self.begins) if where is not None else {}
        whole.play(together(fault, self.after), self.ends)
        return tuple(stamped for stamped in whole.trace if type(stamped.event) not in (WireDisturbed, WireRestored))


def _by_device() -> dict[str, tuple[Kind, ...]]:
    devices: dict[str, list[Kind]] = defaultdict(list)
    for kind in faults().values():
        for where in kind.places(SITE):
            devices[where.device].append(kind)
    return {device: tuple(kinds) for device, kinds in devices.items()}


DEVICES = _by_device()
PLAYED: dict[str, Played] = {}


def alike(device: str, kinds: Iterable[Kind | None]) -> list[list[Kind | None]]:
    """The groups of kinds (None: no fault) that no program tells apart."""
    groups = [list(kinds)]
    for name in PROGRAMS:
        if not groups:
            return []
        if name not in PLAYED:
            PLAYED[name] = Played(name)
        played = PLAYED[name]
        told: list[list[Kind | None]] = []
        for group in groups:
            traces: dict[tuple[Any, ...], list[Kind | None]] = defaultdict(list)
            for kind in group:
                traces[played.trace(place(kind, SITE, device) if kind is not None else None)].append(kind)
            told += [same for same in traces.values() if len(same) > 1]
        groups = told
    return groups


@pytest.mark.slow
@pytest.mark.parametrize("device", sorted(DEVICES))
def test_kinds_at_one_device_differ_in_what_the_plant_does(device: str) -> None:
    groups = alike(device, (None, *DEVICES[device]))
    assert not groups, [[kind.id if kind else "no fault" for kind in group] for group in groups]


def test_alike_finds_what_is_alike() -> None:
    kind = faults()["loop-open"]
    assert alike("nose", (kind, type(kind)())) == [[kind, kind]]


def test_the_fork_at_the_begin_is_the_whole_run() -> None:
    agenda, begins, ends = PROGRAMS["closing"]
    where = place(faults()["corroded-joint"], SITE, "nose")
    whole = Whole(plant=PLANT).play(together(agenda, at_place(where, begins)), ends)
    forked = Played("closing").trace(where)
    after = [one for one in whole.trace if one.at >= begins and type(one.event) not in (WireDisturbed, WireRestored)]
    assert tuple(after) == forked
    assert isinstance(whole.world, World)
