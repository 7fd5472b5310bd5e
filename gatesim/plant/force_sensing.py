"""The drive's inherent force sensing: it trips when the contact force has lasted, outside its declared blind zones."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar, NamedTuple

from gatesim.events import Direction, ForceCleared, ForceTripped, LeafName, Stimulus
from gatesim.plant.curve import deflection_at, joint, place
from gatesim.plant.given import Given
from gatesim.plant.leaf import energised
from gatesim.plant.leaves import leaves, named, telling
from gatesim.plant.motion import Marks, Pieces, heading_at, marks, next_turn, rest, settle
from gatesim.plant.part import Bench, Out, Part, Phase, Wire, state
from gatesim.plant.site import Drive, Site
from gatesim.plant.wires import (
    Block,
    Blocks,
    Contactor,
    DriveDirection,
    ForceGain,
    ForceReady,
    ForceTrip,
    MainContact,
    Motion,
    Supply,
)
from gatesim.units import FOREVER


class Watched(NamedTuple):
    """An obstruction (or several together) and the place at which its force, as sensed, reaches the limit."""

    block: Block
    marks: Marks


@state
class ForceState:
    """What is watched, and since when it counts."""

    watched: tuple[Watched, ...]
    blocks: tuple[Block, ...]
    gain: float
    closing_end: Marks
    opening_end: Marks
    heading: int
    blind_until: float
    since: float | None
    tripped: Direction | None


@dataclass(frozen=True, slots=True)
class ForceSensing:
    """Senses `gain` times the contact force in the direction of thrust."""

    drive: Drive
    travel: float
    leaf_at: float
    leaf: LeafName = LeafName.FIRST
    name: str = ""
    phase: ClassVar[Phase] = Phase.SENSE
    rank: ClassVar[int] = 60
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    def reads(self) -> tuple[Wire, ...]:
        of = self.leaf.of
        return (Motion(of), Blocks(of), Contactor(named(of, "opening")), Contactor(named(of, "closing")),
                MainContact(), Supply(), DriveDirection(of), ForceGain(of))

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((ForceTrip(self.leaf.of), False), (ForceReady(self.leaf.of), True))

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> ForceState:
        here, blind = rest(0.0, self.leaf_at), self.drive.blind_at_end
        closing, opening = marks(-1, (blind,), here, 0.0), marks(1, (self.travel - blind,), here, 0.0)
        return ForceState((), (), 1.0, closing, opening, 0, 0.0, None, None)

    def react(self, state: ForceState, now: float, seen: list[Any], out: Out) -> float:
        out = telling(out, self.leaf)
        pieces, blocks, opening, closing, main, supply, as_wired, gain = seen
        self._follow(state, now, pieces, blocks, gain)
        thrust = energised(opening, closing, main, supply)
        if thrust is not None and not as_wired:
            thrust = thrust.other
        waits = state.heading == 0 and next_turn(pieces, now) < FOREVER
        presses = thrust is not None and state.heading != -thrust.sign and not waits and _over(state, thrust)
        if not presses or now < state.blind_until or self._at_end(state, thrust):
            state.since = None
        elif state.since is None:
            state.since = now
        self._output(state, now, thrust, supply, out)
        out.put(1, supply and gain > 0)
        return self._due(state, now, pieces, presses)

    def _follow(self, state: ForceState, now: float, pieces: Pieces, blocks: tuple[Block, ...], gain: float) -> None:
        """Bring up to now what is watched, the end zones and the blind time after a start."""
        state.watched = tuple([Watched(block, settle(each, pieces, now)) for block, each in state.watched])
        if blocks != state.blocks or gain != state.gain:
            kept = {w.block.obstruction: w for w in state.watched} if gain == state.gain else {}
            watched = []
            for block in (*blocks, *joint(blocks)):
                old = kept.get(block.obstruction)
                deep = deflection_at(block, self.drive.force_limit / gain) if gain > 0 else FOREVER
                if old is not None and old.block == block:
                    watched.append(old)
                elif deep < FOREVER:
                    sign = block.direction.sign
                    watched.append(Watched(block, marks(sign, (place(block, deep),), pieces, now)))
            state.watched, state.blocks, state.gain = tuple(watched), blocks, gain
        state.closing_end = settle(state.closing_end, pieces, now)
        state.opening_end = settle(state.opening_end, pieces, now)
        heading = heading_at(pieces, now)
        if heading not in (0, state.heading):
            state.blind_until = now + self.drive.blind_after_start
        state.heading = heading

    def _at_end(self, state: ForceState, thrust: Direction | None) -> bool:
        """Whether the leaf is in the blind zone before the stop ahead."""
        return (state.closing_end if thrust is Direction.CLOSING else state.opening_end).passed > 0

    def _output(self, state: ForceState, now: float, thrust: Direction | None, supply: bool, out: Out) -> None:
        if state.tripped is not None:
            if not (supply and _over(state, state.tripped)) or state.heading == -state.tripped.sign:
                state.tripped = None
                out.event(ForceCleared())
        elif state.since is not None and now >= state.since + self.drive.force_dwell and thrust is not None:
            state.tripped = thrust
            out.event(ForceTripped(thrust))
        out.put(0, state.tripped is not None)

    def _due(self, state: ForceState, now: float, pieces: Pieces, presses: bool) -> float:
        due = min(next_turn(pieces, now), state.closing_end.due, state.opening_end.due)
        for _, each in state.watched:
            due = min(due, each.due)
        if presses and state.blind_until > now:
            due = min(due, state.blind_until)
        if state.since is not None and state.tripped is None:
            due = min(due, state.since + self.drive.force_dwell)
        return due


def _over(state: ForceState, direction: Direction) -> bool:
    """Whether the force sensed against this direction is at the limit or above."""
    return any(block.direction is direction and each.passed > 0 for block, each in state.watched)


def parts(site: Site, bench: Bench) -> Iterable[Part]:
    """The force sensing of each leaf's drive, and its transducer."""
    for one in leaves(site):
        yield Given(ForceGain(one.of), 1.0)
        yield ForceSensing(one.drive, one.gate.travel, one.leaf_at, one.leaf)
