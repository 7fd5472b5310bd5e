"""The motion sense of a transmitter that feels the leaf (docs/timing.md, section 6)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import LeafName, Stimulus
from gatesim.plant.leaves import leaf_of_input
from gatesim.plant.part import Bench, Out, Part, Phase, Wire, state
from gatesim.plant.site import LearnsMotion, Site
from gatesim.plant.wires import Motion, MotionFelt, Piece
from gatesim.units import FOREVER, Duration


def moves(piece: Piece) -> bool:
    """Whether the leaf moves on this piece."""
    return piece.v != 0 or piece.a != 0


@state
class MotionSenseState:
    """Whether the leaf moves, what is felt, and when the feeling changes."""

    moving: bool
    felt: bool
    rises: float
    falls: float


@dataclass(frozen=True, slots=True)
class MotionSense:
    """Feels motion `feel_delay` after the leaf starts, and standstill `feel_delay` after it stops.

    A stop shorter than the delay is not felt.
    """

    name: str
    feel_delay: Duration
    leaf: LeafName = LeafName.FIRST

    phase: ClassVar[Phase] = Phase.SENSE
    rank: ClassVar[int] = 35
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    def reads(self) -> tuple[Wire, ...]:
        return (Motion(self.leaf.of),)

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((MotionFelt(self.name), False),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> MotionSenseState:
        return MotionSenseState(False, False, FOREVER, FOREVER)

    def react(self, state: MotionSenseState, now: float, seen: list[Any], out: Out) -> float:
        moving, turns = _now_and_next(seen[0], now)
        if moving and not state.moving:
            state.falls = FOREVER
            if not state.felt and not state.rises < FOREVER:
                state.rises = now + self.feel_delay
        elif state.moving and not moving:
            state.falls = now + self.feel_delay
        state.moving = moving
        if state.rises <= now:
            state.felt, state.rises = True, FOREVER
        if state.falls <= now:
            state.felt, state.falls = False, FOREVER
        out.put(0, state.felt)
        return min(turns, state.rises, state.falls)


def _now_and_next(pieces: tuple[Piece, ...], now: float) -> tuple[bool, float]:
    """Whether the leaf moves at `now`, and when that next changes as planned."""
    moving = moves(pieces[0])
    for piece in pieces[1:]:
        if piece.t <= now:
            moving = moves(piece)
        elif moves(piece) != moving:
            return moving, piece.t
    return moving, FOREVER


def parts(site: Site, bench: Bench) -> Iterable[Part]:
    """A motion sense per transmitter that feels motion."""
    return [
        MotionSense(node.name, node.feel_delay, leaf_of_input(site, node.name))
        for node in site.transmitters
        if node.learns_motion is LearnsMotion.FELT
    ]
