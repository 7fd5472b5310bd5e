"""Obstructions that enter a zone and leave it: how the leaf will meet them.

The force over deflection is docs/timing.md, section 3.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.errors import ModelError
from gatesim.events import EnterObstruction, LeafName, LeaveObstruction, Stimulus
from gatesim.plant.edge_curve import force_on, points_of
from gatesim.plant.leaves import leaves, zones_of
from gatesim.plant.motion import at, sqrt
from gatesim.plant.part import Bench, Out, Part, Phase, Wire, state
from gatesim.plant.site import Drive, Edge, Site, Zone
from gatesim.plant.wires import Block, Blocks, Motion
from gatesim.units import FOREVER


def block_for(entered: EnterObstruction, zone: Zone, edge: Edge | None, drive: Drive, x: float, moving: float = FOREVER,
              instrument: float | None = None) -> Block:
    """The block of an obstruction that enters while the leaf is at x.  Edge, obstruction and measuring instrument are
    springs in series.  `moving`: all mass that moves with the leaf (kg).

    Where the leaf already is past the place, the obstruction is moved to the leaf.
    """
    place, sign = entered.position, zone.direction.sign
    if (x - place) * sign > 0:
        place = x
    points = ((0.0, 0.0),) if edge is None else points_of(edge)
    brought = drive.stall_force if edge is None else min(drive.stall_force, points[-1][1])
    if drive.motor is not None:  # out of forces: the leaf is brought up by the curve itself, not at a stated force
        brought = points[-1][1]
    softness = (1 / entered.stiffness if entered.stiffness else 0.0) + (1 / instrument if instrument else 0.0)
    curve = tuple([(d + f * softness, f) for d, f in points])
    end = 1 / (1 / drive.end_stiffness + softness) if drive.end_stiffness > 0 else 0.0
    # Out of forces every obstruction stands fast, and forces are upper bounds.
    fast = entered.mass is None or drive.motor is not None
    share = 1.0 if fast or entered.mass is None else sqrt(entered.mass / (moving + entered.mass))
    end *= share
    if edge is None:
        return Block(entered.obstruction, zone.direction, place, curve, end, None, "", 0.0, brought, share)
    actuates = edge.actuating_travel + force_on(points, edge.actuating_travel) * softness
    return Block(entered.obstruction, zone.direction, place, curve, end, actuates, edge.name, edge.overtravel, brought,
                 share)


@state
class ObstructionsState:
    """What stands in the way."""

    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Obstructions:
    """All obstructions in the way of a leaf."""

    zones: tuple[Zone, ...]
    edges: tuple[Edge, ...]
    drive: Drive
    moving: float
    instrument: float | None
    leaf: LeafName = LeafName.FIRST
    phase: ClassVar[Phase] = Phase.ARRIVE
    rank: ClassVar[int] = 10
    takes: ClassVar[tuple[type[Stimulus], ...]] = (EnterObstruction, LeaveObstruction)

    @property
    def name(self) -> str:
        return self.leaf.of

    def reads(self) -> tuple[Wire, ...]:
        return (Motion(self.leaf.of),)

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((Blocks(self.leaf.of), ()),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> ObstructionsState:
        return ObstructionsState(())

    def react(self, state: ObstructionsState, now: float, seen: list[Any], out: Out) -> float:
        stimulus: Any
        for stimulus in out.stimuli:
            others = tuple([block for block in state.blocks if block.obstruction != stimulus.obstruction])
            if isinstance(stimulus, EnterObstruction):
                others = (*others, self._entered(stimulus, at(seen[0], now)[0]))
            state.blocks = others
        out.put(0, state.blocks)
        return FOREVER

    def _entered(self, stimulus: EnterObstruction, x: float) -> Block:
        for zone in self.zones:
            if zone.name == stimulus.zone:
                covering = [edge for edge in self.edges if edge.zone == zone.name] if stimulus.edge else []
                return block_for(stimulus, zone, covering[0] if covering else None, self.drive, x,
                                 self.moving, self.instrument)
        raise ModelError(f"obstruction {stimulus.obstruction!r} enters {stimulus.zone!r}, which is no zone of the site")


def parts(site: Site, bench: Bench) -> Iterable[Part]:
    """The obstructions of each leaf."""
    for one in leaves(site):
        moving = one.gate.mass + one.drive.reflected_mass
        yield Obstructions(zones_of(site, one.leaf), site.edges, one.drive, moving, site.instrument_stiffness, one.leaf)
