"""The forces that move a leaf with a motor: what a site says, brought to the closing edge once, when it is loaded.

The equations are docs/timing.md, section 11.  x is the way of the closing edge (um), the *drive's way* is x for a
sliding or lifting leaf and the arm's table for a swinging one.  Forces in mN, masses in kg, speeds in um/us.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import pi, sqrt

from gatesim.events import Direction
from gatesim.plant.arms import Arm, arm_of
from gatesim.plant.curve import MN_PER_KG, deflection, deflection_at, force_at, place
from gatesim.plant.loads import Loads, Motor, MotorSupply
from gatesim.plant.site import Drive, Gate, GateKind, Site, temperature_of
from gatesim.plant.wires import Block

GRAVITY = 9.80665e-6
"""um/us^2 (standard gravity)."""
WARM = 20.0
"""degC at which running_resistance is stated (ours)."""
_LOOKS = 64
"""Places at which the weakest stop is looked for."""


@dataclass(frozen=True, slots=True)
class Dynamics:
    """Masses and forces of one leaf and its drive."""

    travel: float
    mass: float
    """Of the leaf as the closing edge feels it, counterweight included."""
    rotor: float
    """Of the rotor, reflected through the gear to the drive's way."""
    stall: float
    """Thrust of the motor at standstill, along the drive's way."""
    free: float
    """Speed of the drive's way at which the thrust is nothing."""
    most: float
    """Thrust that the drive never exceeds."""
    friction: float
    """Against the motion, wherever the leaf is."""
    breakaway: float
    """Against a start; at least `friction`."""
    along: float
    """Towards closing, whichever way the leaf moves: slope, weight, wind on a swinging leaf."""
    seal: float
    seal_length: float
    brake: float
    """Along the drive's way, as the brake should be."""
    backlash: float
    arm: Arm | None

    def geometry(self, x: float) -> tuple[float, float, float]:
        """Drive way, drive speed per edge speed, and the slope of that (1/um)."""
        return (x, 1.0, 0.0) if self.arm is None else self.arm.at(x)

    def place_of(self, way: float) -> float:
        """The place of the closing edge at a drive way."""
        return way if self.arm is None else self.arm.place_of(way)

    def thrust(self, speed: float) -> float:
        """The largest thrust at a speed of the drive (mN along the drive's way)."""
        line = self.stall * (1 - speed / self.free)
        return line if line < self.most else self.most

    def holding(self, speed: float) -> float:
        """The largest braking thrust of the energised motor at a speed: its line through standstill."""
        line = self.stall * speed / self.free
        return line if line < self.most else self.most

    def inertia(self, x: float) -> float:
        """Moving mass at the closing edge (kg)."""
        ratio = self.geometry(x)[1]
        return self.mass + self.rotor * ratio * ratio

    def sealing(self, x: float) -> float:
        """Extra resistance near the end stops."""
        if self.seal_length <= 0:
            return 0.0
        near = x if x < self.travel - x else self.travel - x
        return self.seal * (1 - near / self.seal_length) if near < self.seal_length else 0.0

    def against(self, blocks: Iterable[Block], x: float, sign: int) -> float:
        """What holds a leaf back that moves with `sign` at x (negative: pushes it on)."""
        force = self.friction + self.sealing(x) + sign * self.along
        for block in blocks:
            force += force_at(block, deflection(block, x)) * block.direction.sign * sign
        return force

    def kinks(self, blocks: Iterable[Block]) -> list[float]:
        """Places at which the force over x bends."""
        found = [self.seal_length, self.travel - self.seal_length] if self.seal_length > 0 else []
        for block in blocks:
            found += [place(block, depth) for depth, _ in block.curve]
            found.append(place(block, deflection_at(block, block.brought_up)))
        return found


def dynamics_of(site: Site) -> Dynamics | None:
    """The forces of a site that has a motor; None for one that states its accelerations.  Raises OutOfReach."""
    motor, gate = site.drive.motor, site.gate
    if motor is None:
        return None
    loads = gate.loads or Loads()
    arm = None if gate.swing is None else arm_of(gate.swing, gate.travel, motor.pinion_radius)
    raw = 1.0 if arm is None else arm.raw
    stall, free = _line(motor)
    share = 1 / 3 if gate.swing is not None else 1.0
    mass = share * gate.mass + loads.counterbalance
    gearing = motor.gear_ratio / (motor.pinion_radius * 1e-6) * raw
    rotor = motor.rotor_inertia * gearing * gearing
    friction = gate.running_resistance * _cold(loads, temperature_of(site), site.coldest)
    wind = loads.wind_pressure * loads.wind_area * 1e-3  # Pa mm2 are 1e-3 mN
    extra = 0.0 if gate.swing is not None else wind * loads.wind_friction
    breakaway = friction if loads.breakaway is None else max(friction, loads.breakaway)
    brake = motor.brake_force
    if brake is None:
        brake = site.drive.stopping_deceleration * (mass + rotor) * MN_PER_KG
    return Dynamics(
        travel=gate.travel, mass=mass, rotor=rotor, stall=stall * raw, free=free / raw, most=site.drive.stall_force,
        friction=friction + extra, breakaway=breakaway + extra, along=_along(gate, loads, wind),
        seal=loads.seal_force, seal_length=loads.seal_length, brake=brake, backlash=motor.backlash, arm=arm)


def _line(motor: Motor) -> tuple[float, float]:
    """Stall force (mN) and free speed (um/us) at the pinion or ram, of the motor at its supply."""
    radius = motor.pinion_radius * 1e-6
    torque, speed = motor.stall_torque, motor.no_load_speed
    if motor.supply is MotorSupply.MAINS:
        torque, speed = torque * motor.voltage_share, speed * motor.voltage_share
    else:
        assert motor.open_voltage is not None
        assert motor.stall_current is not None
        volts = motor.open_voltage * motor.voltage_share / motor.rated_voltage
        winding = motor.rated_voltage * 1e-3 / (motor.stall_current * 1e-6)
        seen = motor.internal_resistance * motor.voltage_share * motor.voltage_share
        torque, speed = torque * volts * winding / (winding + seen), speed * volts
    force = torque * motor.gear_ratio * motor.gear_efficiency / radius * 1e3
    return force, speed * 2 * pi / 60 / motor.gear_ratio * radius


def _cold(loads: Loads, temperature: float, coldest: float) -> float:
    here = temperature if loads.temperature is None else loads.temperature
    if here >= WARM or coldest >= WARM:
        return 1.0
    return 1 + (loads.cold_factor - 1) * (WARM - here) / (WARM - coldest)


def _along(gate: Gate, loads: Loads, wind: float) -> float:
    """Force towards closing (mN at the closing edge)."""
    weight = MN_PER_KG * GRAVITY
    if gate.kind is GateKind.LIFT:
        return (gate.mass - loads.counterbalance) * weight
    down = gate.mass * weight * loads.slope / sqrt(1 + loads.slope * loads.slope)
    if gate.swing is None:
        return down
    return down / 2 + wind / 2 * (1 if loads.wind_towards is Direction.CLOSING else -1)


def weakest_stop(site: Site, mass: float | None = None) -> float:
    """The least deceleration with which the brake stops a leaf in good order (um/us^2), wherever and whichever way.

    `mass`: of another leaf (kg) that the same brake stops.  Without a motor, the stated one for the leaf as fitted.
    """
    gate, forces = site.gate, dynamics_of(site)
    if forces is None:
        rigid = site.drive.reflected_mass
        stated = site.drive.stopping_deceleration
        return stated if mass is None else stated * (gate.mass + rigid) / (mass + rigid)
    if mass is not None:
        other = dynamics_of(replace(site, gate=replace(gate, mass=mass)))
        assert other is not None
        forces = replace(other, brake=forces.brake)
    top, tries = max(site.drive.speed_opening, site.drive.speed_closing), []
    for k in range(_LOOKS + 1):
        x = forces.travel * k / _LOOKS
        _, ratio, bend = forces.geometry(x)
        turned = forces.rotor * MN_PER_KG * abs(bend) * top * top / ratio  # what the rotor gives as the ratio changes
        for sign in (1, -1):
            hold = ratio * forces.brake + forces.against((), x, sign) - turned
            tries.append(hold / (forces.inertia(x) * MN_PER_KG))
    return min(tries)


def start_thrust(site: Site) -> float:
    """Thrust that a start asks of the supply (mN along the drive's way), at most: mass times acceleration, and what
    holds the leaf."""
    gate, drive, forces = site.gate, site.drive, dynamics_of(site)
    if forces is None:
        return gate.mass * drive.acceleration * MN_PER_KG + gate.running_resistance
    tries = []
    for k in range(_LOOKS + 1):
        x = forces.travel * k / _LOOKS
        ratio = forces.geometry(x)[1]
        held = max(forces.against((), x, sign) for sign in (1, -1)) + forces.breakaway - forces.friction
        tries.append((forces.inertia(x) * MN_PER_KG * drive.acceleration / ratio + held) / ratio)
    return min(forces.thrust(0.0), max(tries))


def slowest_edge(site: Site) -> float:
    """The closing edge's speed where it is slowest, as a share of the drive's stated one; 1 but for a swinging leaf."""
    forces = dynamics_of(site)
    return 1.0 if forces is None or forces.arm is None else 1 / max(forces.arm.ratio)


def backlash_time(lost: float, drive: Drive, top: float) -> float:
    """How long the drive takes for its lost travel, from rest under its soft start (us)."""
    if lost <= 0:
        return 0.0
    ramp = top * top / (2 * drive.acceleration)
    if lost <= ramp:
        return sqrt(2 * lost / drive.acceleration)
    return top / drive.acceleration + (lost - ramp) / top
