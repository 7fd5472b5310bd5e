"""Laws of motion out of forces: mass, energy, the drive's speed, and the first crossing.

Each law is shown to notice a planted defect at the end of the file.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from gatesim.events import Direction
from gatesim.plant.arms import arm_of
from gatesim.plant.curve import MN_PER_KG, deflection, force_at
from gatesim.plant.dynamics import Dynamics
from gatesim.plant.loads import ArmKind, Swing
from gatesim.plant.motion import Pieces, Ramp, at, first_crossing, heading
from gatesim.plant.solve import FAST, solve
from gatesim.plant.wires import Block

MM = 1_000.0
TRAVEL = 3_900 * MM
ARM = arm_of(Swing(ArmKind.RAM, 2_500 * MM, 150 * MM, 200 * MM, 1_000 * MM, 100 * MM), TRAVEL, 2 * MM)
LAW = settings(max_examples=60, deadline=None, derandomize=True, database=None,
               suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])


@st.composite
def leaves(draw: st.DrawFn) -> Dynamics:
    """Any leaf and drive that can move and hold itself."""
    even = st.floats
    friction = draw(even(10_000, 150_000))
    stall = draw(even(300_000, 2_000_000))
    return Dynamics(
        travel=TRAVEL, mass=draw(even(40, 1_500)), rotor=draw(even(0, 400)), stall=stall, free=draw(even(0.25, 0.8)),
        most=draw(even(250_000, 1_500_000)), friction=friction, breakaway=friction,
        along=draw(even(-0.9, 0.9)) * friction, seal=draw(even(0, 40_000)),
        seal_length=draw(st.sampled_from([0.0, 60 * MM])), brake=draw(even(150_000, 900_000)), backlash=0.0,
        arm=draw(st.sampled_from([None, ARM])))


RAMPS = st.builds(Ramp, target=st.floats(0.1, 0.6), slow=st.just(0.08), zone=st.just(300 * MM),
                  acceleration=st.floats(0.2e-6, 1.5e-6), deceleration=st.floats(0.2e-6, 1e-6))
SIGNS = st.sampled_from([1, -1])


def starting(forces: Dynamics, sign: int, part: float) -> float:
    return forces.travel * (part if sign > 0 else 1 - part)


@given(leaves(), st.floats(1.0, 4.0), st.floats(0.02, 0.4), SIGNS)
@LAW
def test_more_mass_never_shortens_a_stop(forces: Dynamics, more: float, v: float, sign: int) -> None:
    stops_longer(forces, replace(forces, mass=forces.mass * more), v, sign)


def stops_longer(light: Dynamics, heavy: Dynamics, v: float, sign: int) -> None:
    first, second = (solve(each, (), 0.0, TRAVEL / 2, v * sign, sign, None, each.brake) for each in (light, heavy))
    assert (second.x - first.x) * sign >= -1e-3
    if light.arm is None:
        assert second.t >= first.t - 1e-3


def energy(forces: Dynamics, blocks: tuple[Block, ...], x: float, v: float) -> float:
    """Of motion, height and squeezed obstructions (mN um)."""
    total = forces.inertia(x) * MN_PER_KG * v * v / 2 + forces.along * x
    for block in blocks:
        deep = deflection(block, x)
        total += force_at(block, deep) * deep / 2  # springs only
    return total


def gained(forces: Dynamics, blocks: tuple[Block, ...], pieces: Pieces, driven: bool) -> float:
    """The most by which any piece gains more energy than the drive can give on its way (mN um)."""
    worst = float("-inf")
    for piece, after in pairwise(pieces):
        end = at((piece,), after.t)
        if heading(piece) == 0 or after.t - piece.t < 1:
            continue
        rise = energy(forces, blocks, *end) - energy(forces, blocks, piece.x, piece.v)
        ratios = [forces.geometry(x)[1] for x in (piece.x, end[0])]
        slowest = min(abs(piece.v), abs(end[1])) * min(ratios)
        way = abs(forces.geometry(end[0])[0] - forces.geometry(piece.x)[0])
        work = max(forces.thrust(slowest), 0.0) * way if driven else 0.0
        # Inside a step a piece's speed may be off by 5 FAST at its middle.
        slack = forces.inertia(piece.x) * MN_PER_KG * max(abs(piece.v), abs(end[1])) * 5 * FAST
        worst = max(worst, rise - work + forces.friction * abs(end[0] - piece.x) - slack)
    return worst


@given(leaves(), RAMPS, SIGNS, st.floats(0.0, 0.5), st.sampled_from([0.0, 3.0, 75.0, 500.0]))
@LAW
def test_energy_is_never_created(forces: Dynamics, ramp: Ramp, sign: int, part: float, stiffness: float) -> None:
    direction = Direction.OPENING if sign > 0 else Direction.CLOSING
    blocks = () if not stiffness else (
        Block("spring", direction, starting(forces, sign, 0.6), ((0.0, 0.0),), stiffness, None, "", 0.0, 0.0),)
    end = solve(forces, blocks, 0.0, starting(forces, sign, part), 0.0, sign, ramp)
    assume(len(end.pieces) > 1)
    assert gained(forces, blocks, end.pieces[:-1], driven=True) <= 0
    free = solve(forces, blocks, 0.0, starting(forces, sign, 0.55), 0.3 * sign, sign, None, 0.0)
    assert gained(forces, blocks, free.pieces[:-1], driven=False) <= 0


@given(leaves(), RAMPS, SIGNS, st.floats(0.0, 0.9))
@LAW
def test_speed_never_exceeds_the_drives(forces: Dynamics, ramp: Ramp, sign: int, part: float) -> None:
    end = solve(forces, (), 0.0, starting(forces, sign, part), 0.0, sign, ramp)
    for piece in end.pieces:
        speed = abs(piece.v) * forces.geometry(piece.x)[1]
        assert speed <= min(ramp.target, forces.free) + 10 * FAST


@given(leaves(), RAMPS, SIGNS, st.floats(0.05, 0.95))
@LAW
def test_the_crossing_found_is_the_first(forces: Dynamics, ramp: Ramp, sign: int, share: float) -> None:
    end = solve(forces, (), 0.0, starting(forces, sign, 0.0), 0.0, sign, ramp)
    assume(len(end.pieces) > 1)
    place = starting(forces, sign, share)
    found = first_crossing(end.pieces, place, 0.0, sign)
    reached = [end.t * k / 3_000 for k in range(3_001)
               if (at(end.pieces, end.t * k / 3_000)[0] - place) * sign >= 1e-6]
    assert bool(reached) == (found < float("inf"))
    if reached:
        assert found <= reached[0] + 1e-3
        assert (at(end.pieces, found - 10.0)[0] - place) * sign < 0


# --- the laws notice ---------------------------------------------------------------------------------------------

PLAIN = Dynamics(travel=TRAVEL, mass=300, rotor=100, stall=700_000, free=0.4, most=600_000, friction=60_000,
                 breakaway=60_000, along=0.0, seal=0.0, seal_length=0.0, brake=400_000, backlash=0.0, arm=None)
RAMP = Ramp(0.2, 0.08, 300 * MM, 0.5e-6, 0.4e-6)


def test_a_gift_of_energy_is_noticed() -> None:
    pieces = solve(PLAIN, (), 0.0, 0.0, 0.0, 1, RAMP).pieces[:-1]
    assert gained(PLAIN, (), pieces, driven=True) <= 0
    assert gained(replace(PLAIN, stall=150_000, most=150_000), (), pieces, driven=True) > 0


def test_a_brake_that_grows_with_the_mass_is_noticed() -> None:
    stops_longer(PLAIN, replace(PLAIN, mass=600), 0.3, 1)
    with pytest.raises(AssertionError):
        stops_longer(PLAIN, replace(PLAIN, mass=600, brake=PLAIN.brake * 3), 0.3, 1)
