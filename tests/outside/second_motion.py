"""The forces of docs/timing.md, section 11, written a second time for scipy's solve_ivp: SI units, nothing shared.

The drive keeps to its ceiling through a stiff law (it closes what is missing within `GRIP`) in place of the product's
switching; that is off by acceleration times GRIP squared in place.  The arm is drawn as points and differentiated by
central differences of five points.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np
from scipy.integrate import solve_ivp

from gatesim.plant.site import Site
from gatesim.plant.wires import Block

GRIP = 1e-4
"""s"""
G = 9.80665


class Forces(NamedTuple):
    """A site's forces in SI."""

    site: Site
    mass: float
    rotor: float
    stall: float
    free: float
    most: float
    friction: float
    along: float
    brake: float
    way: Callable[[float], float] | None


def drawn_way(site: Site) -> tuple[Callable[[float], float], float]:
    """The drive's way (m, unscaled) over the closing edge's, rising; and the least slope over the travel."""
    swing, motor = site.gate.swing, site.drive.motor
    assert swing is not None
    assert motor is not None
    width = swing.leaf_width * 1e-6
    pivot = complex(-swing.pivot_back, swing.pivot_out) * 1e-6
    hold = complex(swing.bracket, swing.bracket_out) * 1e-6

    def raw(x: float) -> float:
        point = hold * complex(math.cos(x / width), math.sin(x / width))
        apart = abs(point - pivot)
        if swing.arm.value == "linear ram":
            return apart
        p, q = swing.arm_length * 1e-6, swing.link_length * 1e-6
        corner = math.acos((p * p + apart * apart - q * q) / 2 / p / apart)
        line = point - pivot
        return motor.pinion_radius * 1e-6 * (math.atan2(line.imag, line.real) + corner)

    travel = site.gate.travel * 1e-6
    sign = 1 if raw(travel) > raw(0.0) else -1
    slopes = [slope(lambda at: sign * raw(at), x) for x in np.linspace(0, travel, 4001)]
    return (lambda x: sign * (raw(x) - raw(0.0))), min(slopes)


def slope(f: Callable[[float], float], x: float, h: float = 1e-4) -> float:
    """f' by five points."""
    return (f(x - 2 * h) - 8 * f(x - h) + 8 * f(x + h) - f(x + 2 * h)) / (12 * h)


def bend(f: Callable[[float], float], x: float, h: float = 1e-3) -> float:
    """f'' by five points."""
    return (-f(x - 2 * h) + 16 * f(x - h) - 30 * f(x) + 16 * f(x + h) - f(x + 2 * h)) / (12 * h * h)


def forces(site: Site) -> Forces:
    """Everything brought to the closing edge."""
    gate, drive = site.gate, site.drive
    motor, loads = drive.motor, gate.loads
    assert motor is not None
    way, least = drawn_way(site) if gate.swing is not None else (None, 1.0)
    radius, turns = motor.pinion_radius * 1e-6, motor.gear_ratio
    share = motor.voltage_share
    torque, speed = motor.stall_torque, motor.no_load_speed * 2 * math.pi / 60
    if motor.supply.value == "battery":
        winding = (motor.rated_voltage * 1e-3) / (motor.stall_current * 1e-6)  # type: ignore[operator]
        constant = torque / (motor.stall_current * 1e-6)  # type: ignore[operator]
        volts = share * motor.open_voltage * 1e-3  # type: ignore[operator]
        torque = constant * volts / (winding + share**2 * motor.internal_resistance)
        speed = speed * volts / (motor.rated_voltage * 1e-3)
    else:
        torque, speed = torque * share, speed * share
    mass = gate.mass / 3 if gate.swing is not None else gate.mass
    friction, along = gate.running_resistance * 1e-3, 0.0
    if loads is not None:
        mass += loads.counterbalance
        here = site.coldest if loads.temperature is None else loads.temperature
        if here < 20 and site.coldest < 20:
            friction *= np.interp(here, [site.coldest, 20.0], [loads.cold_factor, 1.0])
        wind = loads.wind_pressure * loads.wind_area * 1e-6
        if gate.swing is None:
            friction += wind * loads.wind_friction
        else:
            along += (0.5 if loads.wind_towards.value == "closing" else -0.5) * wind
        along += gate.mass * G * math.sin(math.atan(loads.slope)) * (0.5 if gate.swing is not None else 1.0)
        if gate.kind.value == "vertical lift":
            along = (gate.mass - loads.counterbalance) * G
    rotor = motor.rotor_inertia * (turns / radius * least) ** 2
    brake = (mass + rotor) * drive.stopping_deceleration * 1e6
    if motor.brake_force is not None:
        brake = motor.brake_force * 1e-3
    stall = torque * turns * motor.gear_efficiency / radius * least
    return Forces(site, mass, rotor, stall, speed / turns * radius / least,
                  drive.stall_force * 1e-3, friction, along, brake, None if way is None else lambda x: way(x) / least)


def resisting(f: Forces, blocks: tuple[Block, ...], x: float, sign: int) -> float:
    """N against a motion with `sign` at x (m)."""
    gate, total = f.site.gate, f.friction + sign * f.along
    loads = gate.loads
    if loads is not None and loads.seal_length > 0:
        near = min(x, gate.travel * 1e-6 - x)
        total += loads.seal_force * 1e-3 * max(0.0, 1 - near / (loads.seal_length * 1e-6))
    for block in blocks:
        deep = (x * 1e6 - block.at) * block.direction.sign
        if deep > 0:
            points = np.array(block.curve)
            force = (np.interp(deep, points[:, 0], points[:, 1]) if deep < points[-1, 0]
                     else points[-1, 1] + block.end_stiffness * (deep - points[-1, 0]))
            total += sign * block.direction.sign * force * 1e-3
    return float(total)


def ceiling(f: Forces, slow: bool, sign: int) -> Callable[[float], tuple[float, float]]:
    """Speed of the drive (m/s) and its change (m/s2) that are asked for at a place (m)."""
    drive, gate = f.site.drive, f.site.gate
    top = drive.slow_speed if slow else drive.speed_opening if sign > 0 else drive.speed_closing
    creep, rate = drive.slow_speed, drive.deceleration * 1e6
    way = f.way or (lambda x: x)
    zone = way((gate.travel - drive.slow_zone) * 1e-6 if sign > 0 else drive.slow_zone * 1e-6)

    def asked(x: float) -> tuple[float, float]:
        left = sign * (zone - way(x))
        if top <= creep:
            return top, 0.0
        if left <= 0:
            return creep, 0.0
        square = creep * creep + 2 * rate * left
        return (top, 0.0) if square >= top * top else (math.sqrt(square), -rate)

    return asked


def moving(f: Forces, blocks: tuple[Block, ...], x: float, v: float, sign: int, driven: bool, slow: bool = False,
           brake: float = 0.0, until: float = 80.0, max_step: float = 0.02) -> Any:
    """solve_ivp from x (m), v (m/s): until it stands, meets the end stop, or `until` (s).  `dense_output` is there."""
    drive, travel = f.site.drive, f.site.gate.travel * 1e-6
    asked = ceiling(f, slow, sign)
    up, down = drive.acceleration * 1e6, drive.deceleration * 1e6

    def right(t: float, y: Any) -> list[float]:
        here, w = float(y[0]), float(y[1]) * sign
        ratio, curl = (1.0, 0.0) if f.way is None else (slope(f.way, here), sign * bend(f.way, here))
        heavy = f.mass + f.rotor * ratio * ratio
        held = resisting(f, blocks, here, sign) + f.rotor * ratio * curl * w * w
        if not driven:
            return [w * sign, -sign * (held + ratio * brake) / heavy]
        speed, change = asked(here)
        u = ratio * w
        wanted = min(max(change + (speed - u) / GRIP, -down), up)
        a = (wanted - curl * w * w) / ratio
        most = min(f.most, f.stall * (1 - u / f.free))
        least = -min(f.most, f.stall * u / f.free)
        a = max(min(a, (ratio * most - held) / heavy), (ratio * least - held) / heavy)
        return [w * sign, sign * a]

    def stands(t: float, y: Any) -> float:
        return float(y[1]) * sign - (1e-5 if driven else 0.0)

    def ends(t: float, y: Any) -> float:
        return (travel - float(y[0])) if sign > 0 else float(y[0])

    for event in (stands, ends):
        event.terminal, event.direction = True, -1  # type: ignore[attr-defined]
    return solve_ivp(right, (0.0, until), [x, v], method="LSODA", rtol=1e-9, atol=1e-11, max_step=max_step,
                     dense_output=True, events=[stands, ends])
