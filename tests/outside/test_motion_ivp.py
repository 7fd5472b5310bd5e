"""Every kind of motion out of forces against scipy's solve_ivp: within 0.5 ms and 0.1 mm, over a site's whole range.

The reference (second_motion.py) writes the equations of docs/timing.md, section 11, a second time.  Compared are the
place at the same instant and the instant at the same place, 200 to a move, the end of the move, and at a contact its
peak force.  `test_the_worst_of_all` draws whole sites at random, with a fixed seed, and prints the worst of them.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Iterable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pytest

pytest.importorskip("scipy")

from gatesim.events import Direction, EnterObstruction
from gatesim.plant.curve import deflection, force_at
from gatesim.plant.driven import Driven, Memory
from gatesim.plant.dynamics import dynamics_of
from gatesim.plant.loads import ArmKind, Loads, Motor, MotorSupply, Swing
from gatesim.plant.motion import Pieces, at, first_crossing
from gatesim.plant.obstruction import block_for
from gatesim.plant.site import GateKind, Site
from gatesim.plant.solve import solve
from gatesim.plant.wires import Block
from gatesim.scenario.read import read_site

sys.path.insert(0, str(Path(__file__).parent))

import second_motion

MOST_MS, MOST_MM = 0.5, 0.1
YARD = read_site(Path(__file__).parents[2] / "scenarios" / "sites" / "mill-lane.site.yaml")
MM, MS = 1_000.0, 1_000.0

MOTOR = Motor(stall_torque=1.6, no_load_speed=2_800, gear_ratio=24, gear_efficiency=0.6, pinion_radius=40 * MM,
              rotor_inertia=0.0008, backlash=4 * MM)
BATTERY = replace(MOTOR, supply=MotorSupply.BATTERY, stall_current=40e6, open_voltage=24_600.0,
                  internal_resistance=0.12, voltage_share=0.9)
RAM = Swing(ArmKind.RAM, leaf_width=2_500 * MM, pivot_back=150 * MM, pivot_out=200 * MM, bracket=1_000 * MM,
            bracket_out=100 * MM)
ARM = Swing(ArmKind.ARTICULATED, leaf_width=2_500 * MM, pivot_back=200 * MM, pivot_out=250 * MM, bracket=900 * MM,
            bracket_out=100 * MM, arm_length=500 * MM, link_length=900 * MM)


def sliding(motor: Motor = MOTOR, loads: Loads | None = None, **drive: Any) -> Site:
    """The yard's gate with a motor."""
    return replace(YARD, gate=replace(YARD.gate, loads=loads), drive=replace(YARD.drive, motor=motor, **drive))


def swinging(swing: Swing, motor: Motor, loads: Loads | None = None) -> Site:
    """A leaf of 2.5 m on a hinge, 90 degrees."""
    gate = replace(YARD.gate, kind=GateKind.SWING, travel=3_900 * MM, swing=swing, loads=loads)
    return replace(YARD, gate=gate, drive=replace(YARD.drive, motor=motor))


def lifting(loads: Loads) -> Site:
    """A leaf that goes up to open."""
    gate = replace(YARD.gate, kind=GateKind.LIFT, travel=2_400 * MM, mass=180.0, loads=loads)
    return replace(YARD, gate=gate, drive=replace(YARD.drive, motor=replace(MOTOR, gear_ratio=60)))


RAM_MOTOR = replace(MOTOR, pinion_radius=2 * MM, gear_ratio=22, rotor_inertia=0.0003)
ARM_MOTOR = replace(MOTOR, pinion_radius=100 * MM, gear_ratio=1_500)
SITES = {
    "sliding": sliding(),
    "weak": sliding(replace(MOTOR, stall_torque=0.7)),
    "battery": sliding(BATTERY),
    "limited thrust": sliding(stall_force=260_000.0, force_limit=200_000.0),
    "uphill": sliding(loads=Loads(slope=0.03)),
    "downhill": sliding(loads=Loads(slope=-0.03)),
    "windy and cold": sliding(loads=Loads(wind_pressure=61.25, wind_area=5.0e6, cold_factor=1.6, breakaway=160_000.0)),
    "sealed": sliding(loads=Loads(seal_force=120_000.0, seal_length=80 * MM)),
    "heavy": replace(sliding(), gate=replace(YARD.gate, mass=1_500.0)),
    "light": replace(sliding(), gate=replace(YARD.gate, mass=60.0)),
    "never at its speed": sliding(speed_opening=0.6, speed_closing=0.6),
    "ram": swinging(RAM, RAM_MOTOR),
    "ram in the wind": swinging(RAM, RAM_MOTOR, Loads(wind_pressure=30.0, wind_area=4.0e6)),
    "ram, seals": swinging(RAM, RAM_MOTOR, Loads(seal_force=60_000.0, seal_length=50 * MM, slope=0.02)),
    "arm": swinging(ARM, ARM_MOTOR),
    "lift": lifting(Loads(counterbalance=150.0)),
    "lift, heavy side up": lifting(Loads(counterbalance=200.0)),
}


class Worst(NamedTuple):
    """Largest differences found: ms at the same place, mm at the same instant."""

    ms: float
    mm: float


class Parts:
    """Solutions of solve_ivp one after the other."""

    def __init__(self) -> None:
        self.parts: list[tuple[float, Any]] = []
        self.end = 0.0

    def add(self, found: Any) -> Any:
        self.parts.append((self.end, found))
        self.end += float(found.t[-1])
        return found

    def at(self, t: float) -> tuple[float, float]:
        for begin, found in reversed(self.parts):
            if t >= begin:
                x, v = found.sol(t - begin)
                return float(x), float(v)
        raise AssertionError


def compare(pieces: Pieces, parts: Parts, sign: int, slowest: float = 1e-3, samples: int = 200) -> Worst:
    """The worst of a move (SI against um and us).  Below `slowest` (m/s) an instant at a place says nothing: near
    standstill it is an error in place over a speed of nothing."""
    ms = mm = 0.0
    for t in map(float, np.linspace(0, parts.end, samples)):
        x, v = parts.at(t)
        mm = max(mm, abs(at(pieces, t * 1e6)[0] / 1e3 - x * 1e3))
        inside = (pieces[-1].x - x * 1e6) * sign > 0  # past our last place only `mm` and the end can tell
        if abs(v) > slowest and inside:
            ms = max(ms, abs(first_crossing(pieces, x * 1e6, pieces[0].t, sign) / 1e3 - t * 1e3))
    return Worst(ms, mm)


def holds(worst: Worst) -> None:
    assert worst.ms <= MOST_MS
    assert worst.mm <= MOST_MM


def moved(site: Site, x: float, v: float, sign: int, driven: bool, blocks: tuple[Block, ...] = (),
          slow: bool = False) -> tuple[Worst, Pieces]:
    """One move by both, to its end."""
    forces = dynamics_of(site)
    assert forces is not None
    ramp = Driven(site.drive, forces).ramp(sign, slow) if driven else None
    ours = solve(forces, blocks, 0.0, x, v, sign, ramp, brake=0.0 if driven else forces.brake)
    theirs, parts = second_motion.forces(site), Parts()
    found = parts.add(second_motion.moving(theirs, blocks, x * 1e-6, v, sign, driven, slow, theirs.brake))
    worst = compare(ours.pieces, parts, sign)
    end = abs(ours.pieces[-1].t / 1e3 - parts.end * 1e3)
    last = abs(ours.x / 1e3 - float(found.y[0][-1]) * 1e3)
    # Where the leaf only creeps to its stand, its instant is that of a speed of 0.01 mm/s, and place is what counts.
    creeps = driven and found.t_events[0].size > 0
    return Worst(worst.ms if creeps else max(worst.ms, end), max(worst.mm, last)), ours.pieces


@pytest.mark.parametrize("name", SITES)
@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("part", [0.0, 0.95])
def test_a_move_under_drive(name: str, sign: int, part: float) -> None:
    site = SITES[name]
    x = site.gate.travel * (part if sign > 0 else 1 - part)
    worst, pieces = moved(site, x, 0.0, sign, driven=True)
    assert len(pieces) > 2
    holds(worst)


@pytest.mark.parametrize("name", SITES)
@pytest.mark.parametrize("sign", [1, -1])
def test_a_slow_move(name: str, sign: int) -> None:
    holds(moved(SITES[name], SITES[name].gate.travel / 2, 0.0, sign, driven=True, slow=True)[0])


@pytest.mark.parametrize("name", SITES)
@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("v", [0.002, 0.4])
def test_a_stop_from_any_speed(name: str, sign: int, v: float) -> None:
    worst, pieces = moved(SITES[name], SITES[name].gate.travel * 0.45, v * sign, sign, driven=False)
    assert pieces[-1].v == pieces[-1].a == 0
    holds(worst)


@pytest.mark.parametrize("name", SITES)
@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("share", [0.02, 0.5, 0.97])
def test_cut_off_at_any_time_of_a_move(name: str, sign: int, share: float) -> None:
    """Driven, thrust until the stopping delay is over, then the brake: planned anew in every phase of a move."""
    holds(cut_off(SITES[name], sign, share))


def cut_off(site: Site, sign: int, share: float) -> Worst:
    """A move cut off after this share of its time."""
    forces = dynamics_of(site)
    assert forces is not None
    driven, theirs, parts = Driven(site.drive, forces), second_motion.forces(site), Parts()
    begin = 0.0 if sign > 0 else site.gate.travel
    whole = solve(forces, (), 0.0, begin, 0.0, sign, driven.ramp(sign, False))
    until = whole.pieces[-1].t * share
    ready = until + site.drive.stopping_delay
    told = Told(deceleration=site.drive.stopping_deceleration)
    after = driven.cut_off(told, until, ready, *at(whole.pieces, until), Memory(sign, sign, False))
    first = parts.add(second_motion.moving(theirs, (), begin * 1e-6, 0.0, sign, True, until=ready * 1e-6))
    if first.status == 0:
        x, v = first.y[:, -1]
        parts.add(second_motion.moving(theirs, (), x, v, sign, False, brake=theirs.brake))
    pieces = (*[piece for piece in whole.pieces if piece.t < until], *after)
    worst = compare(pieces, parts, sign, 1e-2)
    return Worst(max(worst.ms, abs(pieces[-1].t / 1e3 - parts.end * 1e3)), worst.mm)


class Told(NamedTuple):
    """What the leaf is told once it is cut off."""

    coasts: bool = False
    released: bool = False
    deceleration: float = 0.0
    blocks: tuple[Block, ...] = ()


def block_at(site: Site, place: float, direction: Direction, edge: bool, stiffness: float = 0.0) -> Block:
    """An obstruction in the gap or the pocket."""
    zone = next(zone for zone in site.zones if zone.direction is direction)
    covering = next(one for one in site.edges if one.zone == zone.name) if edge else None
    entered = EnterObstruction("block", zone.name, place, stiffness or None, edge)
    return block_for(entered, zone, covering, site.drive, site.gate.travel / 2)


@pytest.mark.parametrize("name", SITES)
@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize(("edge", "stiffness"), [(True, 0.0), (False, 75.0)])
def test_brought_up_by_an_obstruction(name: str, sign: int, edge: bool, stiffness: float) -> None:
    site = SITES[name]
    direction = Direction.OPENING if sign > 0 else Direction.CLOSING
    block = block_at(site, site.gate.travel * (0.7 if sign > 0 else 0.3), direction, edge, stiffness)
    worst, pieces = moved(site, site.gate.travel * (0.4 if sign > 0 else 0.6), 0.0, sign, True, (block,))
    deep = deflection(block, pieces[-1].x)
    assert deep > 0
    assert force_at(block, deep) > 0
    holds(worst)


@pytest.mark.parametrize("name", ["sliding", "ram", "arm", "lift"])
@pytest.mark.parametrize("cut", [1, 20, 60, 150])
def test_cut_off_while_it_is_brought_up(name: str, cut: int) -> None:
    """From `cut` ms after first touch the thrust goes on for the stopping delay, then the brake has it."""
    site = SITES[name]
    forces = dynamics_of(site)
    assert forces is not None
    driven, theirs, parts = Driven(site.drive, forces), second_motion.forces(site), Parts()
    blocks = (block_at(site, site.gate.travel * 0.3, Direction.CLOSING, True),)
    begin = site.gate.travel * 0.6
    whole = solve(forces, blocks, 0.0, begin, 0.0, -1, driven.ramp(-1, False))
    until = first_crossing(whole.pieces, blocks[0].at, 0.0, -1) + cut * MS
    ready = until + site.drive.stopping_delay
    told = Told(deceleration=site.drive.stopping_deceleration, blocks=blocks)
    after = driven.cut_off(told, until, ready, *at(whole.pieces, until), Memory(-1, -1, False))
    first = parts.add(second_motion.moving(theirs, blocks, begin * 1e-6, 0.0, -1, True, until=ready * 1e-6))
    if first.status == 0:
        x, v = first.y[:, -1]
        parts.add(second_motion.moving(theirs, blocks, x, v, -1, False, brake=theirs.brake))
    pieces = (*[piece for piece in whole.pieces if piece.t < until], *after)
    holds(compare(pieces, parts, -1, 1e-2))
    peak = force_at(blocks[0], deflection(blocks[0], parts.at(parts.end)[0] * 1e6))
    assert force_at(blocks[0], deflection(blocks[0], pieces[-1].x)) == pytest.approx(peak, abs=100.0)  # mN


@pytest.mark.parametrize(("thrust", "mass", "v", "k"), [(300.0, 300.0, 0.2, 20.0), (150.0, 608.0, 0.1, 500.0),
                                                        (500.0, 90.0, 0.3, 5.0), (40.0, 1_200.0, 0.08, 75.0)])
def test_peak_on_a_spring_under_constant_thrust(thrust: float, mass: float, v: float, k: float) -> None:
    """F + sqrt(F^2 + k m v^2), of the balance m v^2 / 2 + F x = k x^2 / 2: a constant push F (N) on a spring (N/mm)."""
    site = sliding(replace(MOTOR, stall_torque=500.0, no_load_speed=50_000, rotor_inertia=0.0, brake_force=100_000.0),
                   stall_force=thrust * 1e3, force_limit=thrust * 1e3, end_stiffness=1e6, speed_opening=5.0)
    site = replace(site, gate=replace(site.gate, mass=mass, running_resistance=0.0))
    forces = dynamics_of(site)
    assert forces is not None
    block = Block("spring", Direction.OPENING, 1_000_000.0, ((0.0, 0.0),), k, None, "", 0.0, 0.0)
    ramp = Driven(site.drive, forces).ramp(1, False)._replace(acceleration=1.0)
    end = solve(forces, (block,), 0.0, block.at, v, 1, ramp)
    peak = thrust + (thrust * thrust + k * 1e3 * mass * v * v) ** 0.5
    assert force_at(block, deflection(block, end.x)) / 1e3 == pytest.approx(peak, rel=1e-6)


# --- the whole range ---------------------------------------------------------------------------------------------


def drawn(rng: random.Random) -> Site:
    """A site anywhere in the range: mass, slope, wind, temperature, line, ramps, geometry."""
    even = rng.uniform
    loads = Loads(slope=even(-0.03, 0.03), wind_pressure=even(0, 60), wind_area=even(1, 6) * 1e6,
                  cold_factor=even(1, 2), temperature=even(-20, 30), seal_force=even(0, 60_000),
                  seal_length=even(0, 100) * MM, wind_towards=rng.choice(list(Direction)))
    motor = replace(rng.choice([MOTOR, BATTERY]), stall_torque=even(1.2, 3.0), rotor_inertia=even(0, 0.001),
                    voltage_share=even(0.8, 1.0), brake_force=even(250, 900) * 1e3)
    ramps = {"acceleration": even(0.2e-6, 0.9e-6), "deceleration": even(0.2e-6, 0.6e-6),
             "speed_opening": even(0.1, 0.4), "speed_closing": even(0.1, 0.4), "stall_force": even(500, 1_500) * 1e3}
    kind = rng.choice(["sliding", "ram", "arm"])
    if kind == "sliding":
        site = sliding(motor, loads)
    elif kind == "ram":
        motor = replace(motor, pinion_radius=RAM_MOTOR.pinion_radius, gear_ratio=22)
        site = swinging(replace(RAM, pivot_out=even(150, 220) * MM), motor, replace(loads, wind_pressure=even(0, 25)))
    else:
        motor = replace(motor, pinion_radius=ARM_MOTOR.pinion_radius, gear_ratio=1_500)
        site = swinging(replace(ARM, link_length=even(850, 1_000) * MM), motor,
                        replace(loads, wind_pressure=even(0, 25)))
    gate = replace(site.gate, mass=even(100, 900), running_resistance=even(20, 120) * 1e3)
    return replace(site, gate=gate, drive=replace(site.drive, **ramps))


def tries(count: int, seed: int) -> Iterable[tuple[str, Worst]]:
    """Moves, stops and contacts of drawn sites."""
    rng = random.Random(seed)
    for _ in range(count):
        site, sign = drawn(rng), rng.choice([1, -1])
        x = site.gate.travel * rng.uniform(0.0, 0.6)
        x = x if sign > 0 else site.gate.travel - x
        yield "move", moved(site, x, 0.0, sign, True)[0]
        yield "stop", moved(site, site.gate.travel / 2, rng.uniform(0.0, 0.4) * sign, sign, False)[0]
        yield "cut off", cut_off(site, sign, rng.uniform(0.0, 1.0))
        place = site.gate.travel * (rng.uniform(0.65, 0.85) if sign > 0 else rng.uniform(0.15, 0.35))
        direction = Direction.OPENING if sign > 0 else Direction.CLOSING
        block = block_at(site, place, direction, rng.random() < 0.5, rng.choice([0.0, 10.0, 75.0]))
        yield "contact", moved(site, x, 0.0, sign, True, (block,))[0]


@pytest.mark.slow
def test_the_worst_of_all() -> None:
    found = list(tries(12, seed=3))
    assert len(found) == 48
    for kind in ("move", "stop", "cut off", "contact"):
        mine = [worst for name, worst in found if name == kind]
        print(f"{kind}: worst of {len(mine)}: {max(w.ms for w in mine):.3f} ms, {max(w.mm for w in mine):.4f} mm")
        assert max(w.ms for w in mine) > 0  # something was compared
    for _, worst in found:
        holds(worst)


def test_the_reference_notices_a_wrong_motion() -> None:
    """A friction of 1 % more is seen."""
    right, wrong = SITES["weak"], replace(YARD.gate, running_resistance=YARD.gate.running_resistance * 1.01)
    forces = dynamics_of(replace(right, gate=wrong))
    assert forces is not None
    ours = solve(forces, (), 0.0, 0.0, 0.0, 1, Driven(right.drive, forces).ramp(1, False))
    parts = Parts()
    parts.add(second_motion.moving(second_motion.forces(right), (), 0.0, 0.0, 1, True))
    assert compare(ours.pieces, parts, 1).mm > MOST_MM


def test_pieces_meet() -> None:
    """Each piece begins where and as fast as the one before ends."""
    for site in SITES.values():
        forces = dynamics_of(site)
        assert forces is not None
        pieces = solve(forces, (), 0.0, 0.0, 0.0, 1, Driven(site.drive, forces).ramp(1, False)).pieces
        for before, after in pairwise(pieces[:-1]):
            x, v = at((before,), after.t)
            assert x == pytest.approx(after.x, abs=1e-3)
            assert v == pytest.approx(after.v, abs=1e-9)
