"""Contact of the leaf with obstructions: touch, force, and the strips that it (or a hand) presses together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar, NamedTuple

from gatesim.events import (
    ContactBegan,
    ContactEnded,
    Direction,
    EdgeActuated,
    EdgeReleased,
    ForceFell,
    ForcePeaked,
    ForceRose,
    LeafName,
    PressStrip,
    ReleaseStrip,
    Stimulus,
)
from gatesim.plant.curve import deflection, deflection_at, force_at, joint, place
from gatesim.plant.leaves import leaf_of_edge, leaves, telling
from gatesim.plant.motion import Marks, Pieces, at, heading_at, marks, next_turn, settle
from gatesim.plant.part import Bench, Out, Part, Phase, Wire, state
from gatesim.plant.site import Site
from gatesim.plant.wires import Block, Blocks, Motion, StripPressed
from gatesim.units import FOREVER

LEVELS = (25_000.0, 150_000.0, 400_000.0, 1_400_000.0)
"""Forces (mN) whose passing is recorded: the levels of the limits profiles."""


class Touch(NamedTuple):
    """One obstruction and how far the leaf has gone into it: first touch, then each level of force.

    `begun`: a contact was recorded that has not ended.  `alone`: it is one obstruction, not several together.
    """

    block: Block
    marks: Marks
    begun: bool
    alone: bool


def _touch(block: Block, pieces: Pieces, now: float, begun: bool, alone: bool) -> Touch:
    depths = [0.0] + [d for d in (deflection_at(block, level) for level in LEVELS) if d < FOREVER]
    places = tuple([place(block, depth) for depth in depths])
    return Touch(block, marks(block.direction.sign, places, pieces, now), begun, alone)


@state
class ContactState:
    """What the leaf touches, and its heading when last looked at."""

    touches: tuple[Touch, ...]
    blocks: tuple[Block, ...]
    heading: int


@dataclass(frozen=True, slots=True)
class Contact:
    """Says what touches, and how hard."""

    travel: float
    blind_at_end: float
    leaf: LeafName = LeafName.FIRST
    name: str = ""
    phase: ClassVar[Phase] = Phase.SENSE
    rank: ClassVar[int] = 20
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    def reads(self) -> tuple[Wire, ...]:
        return (Motion(self.leaf.of), Blocks(self.leaf.of))

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ()

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> ContactState:
        return ContactState((), (), 0)

    def react(self, state: ContactState, now: float, seen: list[Any], out: Out) -> float:
        out = telling(out, self.leaf)
        pieces, blocks = seen
        was, state.heading = state.heading, heading_at(pieces, now)
        touches = []
        for old in state.touches:
            touch = old._replace(marks=settle(old.marks, pieces, now))
            if not old.marks.passed and touch.marks.passed:
                touch = self._began(touch, touch.block.at, out)
            elif touch.marks.passed and state.heading == touch.marks.sign != was:
                touch = self._began(touch, at(pieces, now)[0], out)
            touches.append(self._told(old, touch, was, state.heading, at(pieces, now)[0], out))
        if blocks != state.blocks:
            state.blocks = blocks
            touches = self._renewed(touches, blocks, state.heading, pieces, now, out)
        state.touches = tuple(touches)
        due = next_turn(pieces, now)
        for touch in touches:
            if touch.marks.due < due:
                due = touch.marks.due
        return due

    def _began(self, touch: Touch, x: float, out: Out) -> Touch:
        if not touch.alone:
            return touch
        block = touch.block
        ahead = self.travel - x if block.direction is Direction.OPENING else x
        out.event(ContactBegan(block.obstruction, block.direction, block.edge, x, block.overtravel,
                               ahead <= self.blind_at_end))
        return touch._replace(begun=True)

    def _told(self, old: Touch, touch: Touch, was: int, heading: int, x: float, out: Out) -> Touch:
        """Record the levels passed, a maximum when the leaf no longer goes deeper, and the end of the touch."""
        sign = touch.marks.sign
        for level in range(max(old.marks.passed, 1), touch.marks.passed):
            out.event(ForceRose(touch.block.obstruction, LEVELS[level - 1]))
        if was == sign != heading and touch.marks.passed:
            self._peaked(touch.block, x, out)
        return _fallen(touch, old.marks.passed, touch.marks.passed, out)

    def _peaked(self, block: Block, x: float, out: Out) -> None:
        force = force_at(block, deflection(block, x))
        if force > 0:
            gap = self.travel - block.at if block.direction is Direction.OPENING else block.at
            out.event(ForcePeaked(block.obstruction, block.direction, force, gap))

    def _renewed(self, touches: list[Touch], blocks: tuple[Block, ...], heading: int, pieces: Pieces, now: float,
                 out: Out) -> list[Touch]:
        """Touches for the obstructions that there are now, alone and together; what went away or changed is
        recorded."""
        x, single = at(pieces, now)[0], len(blocks)
        blocks = (*blocks, *joint(blocks))
        kept = {touch.block.obstruction: touch for touch in touches}
        for touch in touches:
            if touch.block.obstruction not in [block.obstruction for block in blocks]:
                if heading == touch.marks.sign and touch.marks.passed:
                    self._peaked(touch.block, x, out)
                _fallen(touch, touch.marks.passed, 0, out)
        renewed = []
        for number, block in enumerate(blocks):
            old = kept.get(block.obstruction)
            if old is not None and old.block == block:
                renewed.append(old)
                continue
            touch = _touch(block, pieces, now, old is not None and old.begun, number < single)
            passed = old.marks.passed if old is not None else 0
            if touch.marks.passed and heading == touch.marks.sign and not touch.begun:
                touch = self._began(touch, x, out)
            for level in range(max(passed, 1), touch.marks.passed):
                out.event(ForceRose(block.obstruction, LEVELS[level - 1]))
            renewed.append(_fallen(touch, passed, touch.marks.passed, out))
        return renewed


def _fallen(touch: Touch, before: int, after: int, out: Out) -> Touch:
    """Record the levels that the force fell under, and the end of the touch."""
    for level in range(before - 1, max(after, 1) - 1, -1):
        out.event(ForceFell(touch.block.obstruction, LEVELS[level - 1]))
    if after == 0 < before and touch.begun:
        out.event(ContactEnded(touch.block.obstruction, touch.block.direction))
        return touch._replace(begun=False)
    return touch


@state
class FaceState:
    """Who presses the strip: a hand, the leaf against obstructions."""

    hand: bool
    blocks: tuple[Block, ...]
    marks: tuple[Marks, ...]
    pressed: bool


@dataclass(frozen=True, slots=True)
class EdgeFace:
    """The face of an edge: presses its strip together where it gives way by the actuating travel, or by hand."""

    name: str
    direction: Direction
    leaf: LeafName = LeafName.FIRST
    phase: ClassVar[Phase] = Phase.SENSE
    rank: ClassVar[int] = 25
    takes: ClassVar[tuple[type[Stimulus], ...]] = (PressStrip, ReleaseStrip)

    def reads(self) -> tuple[Wire, ...]:
        return (Motion(self.leaf.of), Blocks(self.leaf.of))

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((StripPressed(self.name), False),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> FaceState:
        return FaceState(False, (), (), False)

    def react(self, state: FaceState, now: float, seen: list[Any], out: Out) -> float:
        out = telling(out, self.leaf)
        pieces, blocks = seen
        for stimulus in out.stimuli:
            state.hand = isinstance(stimulus, PressStrip)
        state.marks = tuple([settle(each, pieces, now) for each in state.marks])
        if blocks != state.blocks:
            self._renew(state, blocks, pieces, now)
        pressed, due = state.hand, FOREVER
        for each in state.marks:
            pressed = pressed or each.passed > 0
            due = each.due if each.due < due else due
        if pressed != state.pressed:
            state.pressed = pressed
            out.event(EdgeActuated(self.name, self.direction, at(pieces, now)[0]) if pressed
                      else EdgeReleased(self.name, self.direction))
            out.put(0, pressed)
        return due

    def _renew(self, state: FaceState, blocks: tuple[Block, ...], pieces: Pieces, now: float) -> None:
        """Marks for the obstructions on this edge; those that stay as they were keep theirs."""
        mine = [block for block in state.blocks if block.edge == self.name and block.actuates is not None]
        kept = dict(zip([block.obstruction for block in mine], zip(mine, state.marks, strict=True), strict=True))
        renewed = []
        for block in blocks:
            if block.edge == self.name and block.actuates is not None:
                old = kept.get(block.obstruction)
                same = old is not None and old[0] == block
                renewed.append(old[1] if old is not None and same else marks(
                    block.direction.sign, (place(block, block.actuates),), pieces, now))
        state.blocks, state.marks = blocks, tuple(renewed)


def parts(site: Site, bench: Bench) -> Iterable[Part]:
    """The contact of each leaf, and the strip of each edge."""
    for one in leaves(site):
        yield Contact(one.gate.travel, one.drive.blind_at_end, one.leaf)
    directions = {zone.name: zone.direction for zone in site.zones}
    for edge in site.edges:
        yield EdgeFace(edge.name, directions[edge.zone], leaf_of_edge(site, edge.name))
