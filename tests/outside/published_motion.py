"""Figures of motion out of forces, as the product makes them, for published_figures.py."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from gatesim.events import Direction
from gatesim.plant.curve import deflection, force_at
from gatesim.plant.driven import Driven
from gatesim.plant.dynamics import Dynamics, dynamics_of
from gatesim.plant.loads import Loads, Motor
from gatesim.plant.motion import at
from gatesim.plant.site import Gate, Site
from gatesim.plant.solve import solve
from gatesim.plant.wires import Block
from gatesim.scenario.read import read_site

SITES = Path(__file__).parents[2] / "scenarios" / "sites"
MOTOR = Motor(stall_torque=2.0, no_load_speed=3_000.0, gear_ratio=30.0, gear_efficiency=0.5, pinion_radius=40_000.0,
              rotor_inertia=0.0004)


@cache
def yard() -> Site:
    return read_site(SITES / "mill-lane.site.yaml")


def forces(motor: Motor = MOTOR, loads: Loads | None = None, **gate: Any) -> Dynamics:
    """The forces of a sliding leaf with a motor."""
    made: Gate = replace(yard().gate, loads=loads, **gate)
    found = dynamics_of(replace(yard(), gate=made, drive=replace(yard().drive, motor=motor)))
    assert found is not None
    return found


def wind(pressure: float, area: float) -> float:
    """N that a wind adds to a leaf whose guides feel all of it."""
    loads = Loads(wind_pressure=pressure, wind_area=area * 1e6, wind_friction=1.0)
    return (forces(loads=loads).friction - forces().friction) / 1_000


def down_slope(mass: float, slope: float) -> float:
    """N along a slope."""
    return forces(loads=Loads(slope=slope), mass=mass).along / 1_000


def peak_under_thrust(thrust: float, mass: float, speed: float, stiffness: float) -> float:
    """N on a spring (N/mm) that a leaf (kg, m/s) meets while a constant thrust (N) goes on."""
    strong = replace(MOTOR, stall_torque=500.0, no_load_speed=50_000.0, rotor_inertia=0.0)
    made = replace(forces(strong, mass=mass, running_resistance=0.0), most=thrust * 1_000)
    block = Block("spring", Direction.OPENING, 1e6, ((0.0, 0.0),), stiffness, None, "", 0.0, 0.0)
    ramp = Driven(yard().drive, made).ramp(1, False)._replace(acceleration=1.0, target=50.0)
    end = solve(made, (block,), 0.0, block.at, speed, 1, ramp)
    return force_at(block, deflection(block, end.x)) / 1_000


def run_up(share: float) -> float:
    """Speed of a motor on its line after this share of its time constant, as a share of its final speed."""
    made = replace(forces(), most=1e9)
    ramp = Driven(yard().drive, made).ramp(1, False)._replace(acceleration=1.0, target=1.0)
    final = made.free * (1 - made.friction / made.stall)
    tau = (made.mass + made.rotor) * 1e9 * made.free / made.stall
    return at(solve(made, (), 0.0, 0.0, 0.0, 1, ramp).pieces, share * tau)[1] / final


def swung_energy(mass: float, turning: float) -> float:
    """J of a swinging leaf (kg) that turns (rad/s) about its hinge, by its mass at the closing edge."""
    made = dynamics_of(swinging(mass))
    assert made is not None
    swing = swinging(mass).gate.swing
    assert swing is not None
    return made.mass * (turning * swing.leaf_width * 1e-6) ** 2 / 2


def swinging(mass: float) -> Site:
    site = read_site(SITES / "kiln-court.site.yaml")
    return replace(site, gate=replace(site.gate, mass=mass))


def slab_energy(mass: float, width: float, turning: float, strips: int = 20_000) -> float:
    """J of a slab (kg, m) about its edge, summed strip by strip."""
    return sum(mass / strips * (turning * width * (k + 0.5) / strips) ** 2 / 2 for k in range(strips))


def from_line(x: float) -> float:
    """1 - e^-x"""
    return 1 - math.exp(-x)
