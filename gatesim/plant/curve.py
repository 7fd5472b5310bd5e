"""Force over deflection of one obstruction as the leaf meets it, and back.

Deflection is the leaf's way past the place of first touch (um), force is in mN.  Up to the brought-up force the curve's
straight lines hold, beyond it the end stiffness.  Everything rises, so each place has one force.
"""

from __future__ import annotations

from gatesim.events import Direction
from gatesim.plant.wires import Block
from gatesim.units import FOREVER

MN_PER_KG = 1e9
"""mN that give 1 kg an acceleration of 1 um/us^2."""


def deflection(block: Block, x: float) -> float:
    """How far a leaf at x is past first touch (negative: not touching)."""
    return (x - block.at) * block.direction.sign


def place(block: Block, deflected: float) -> float:
    """Where the leaf is at this deflection."""
    return block.at + deflected * block.direction.sign


def deflection_at(block: Block, force: float) -> float:
    """The deflection at which this force is reached (um); 0 for none.

    A force reached nowhere (end stiffness 0) gives infinity.
    """
    if force > block.brought_up:
        return _end(deflection_at(block, block.brought_up), force - block.brought_up, block.end_stiffness)
    d0, f0 = block.curve[0]
    if force <= f0:
        return d0
    for d1, f1 in block.curve[1:]:
        if force <= f1:
            return d0 + (d1 - d0) * (force - f0) / (f1 - f0)
        d0, f0 = d1, f1
    return _end(d0, force - f0, block.end_stiffness)


def _end(d0: float, more: float, stiffness: float) -> float:
    if more <= 0:
        return d0
    return d0 + more / stiffness if stiffness > 0 else FOREVER


def force_at(block: Block, deflected: float) -> float:
    """The contact force at this deflection (mN)."""
    if deflected <= 0:
        return 0.0
    brought = deflection_at(block, block.brought_up)
    if deflected > brought:
        return block.brought_up + block.end_stiffness * (deflected - brought)
    d0, f0 = block.curve[0]
    for d1, f1 in block.curve[1:]:
        if deflected <= d1:
            return f0 + (f1 - f0) * (deflected - d0) / (d1 - d0)
        d0, f0 = d1, f1
    return f0 + block.end_stiffness * (deflected - d0)


def joint(blocks: tuple[Block, ...]) -> tuple[Block, ...]:
    """What several obstructions in one direction are together: their forces add.

    For the first two in the leaf's way, the first three and so on, one block that begins where the last of them is
    touched, with the force that the others have by then.  Empty where no direction has two.
    """
    made: list[Block] = []
    for direction in Direction:
        mine = sorted([block for block in blocks if block.direction is direction],
                      key=lambda block: block.at * direction.sign)
        made += [_joined(tuple(mine[:count])) for count in range(2, len(mine) + 1)]
    return tuple(made)


def _joined(blocks: tuple[Block, ...]) -> Block:
    last = blocks[-1]
    knees = {0.0}
    for block in blocks:
        shift = deflection(block, last.at)
        depths = [depth for depth, force in block.curve if force <= block.brought_up]
        knees.update(depth - shift for depth in (*depths, deflection_at(block, block.brought_up)))
    curve = tuple([(knee, sum(force_at(block, deflection(block, last.at) + knee) for block in blocks))
                   for knee in sorted(knees) if 0 <= knee < FOREVER])
    stiffness = sum(block.end_stiffness for block in blocks)
    return Block(" + ".join([block.obstruction for block in blocks]), last.direction, last.at, curve, stiffness, None,
                 "", 0.0, curve[-1][1])
