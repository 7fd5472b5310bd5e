"""The tables of a gate whose motion follows from forces: motor, loads on the leaf, arm of a swinging leaf.

A site file that has `drive.motor` is moved by `plant/dynamics.py`; all others keep the stated accelerations.
Everything here is optional there.  Equations: docs/timing.md, section 11.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from gatesim.events import Direction
from gatesim.units import (
    Current,
    Factor,
    Force,
    Inertia,
    Length,
    Mass,
    Pressure,
    Ratio,
    Resistance,
    Share,
    Slope,
    Surface,
    Temperature,
    Torque,
    Turning,
    Voltage,
)


class MotorSupply(Enum):
    """What feeds the motor."""

    MAINS = "mains"
    BATTERY = "battery"


class ArmKind(Enum):
    """How the drive reaches a swinging leaf."""

    RAM = "linear ram"
    ARTICULATED = "articulated arm"


@dataclass(frozen=True, slots=True)
class Motor:
    """The motor, its gear, its supply and its brake.  With it the leaf's motion follows from forces."""

    stall_torque: Torque
    """Torque of the motor at standstill, at the rated voltage."""
    no_load_speed: Turning
    """Speed of the motor without load, at the rated voltage; torque falls to zero there in a straight line."""
    gear_ratio: Ratio
    """Turns of the motor for one of the pinion."""
    gear_efficiency: Share
    """Share of the torque that the gear passes on."""
    pinion_radius: Length
    """From the gear's torque to force: radius of the pinion, or a spindle's lead divided by 2 pi (ram)."""
    rotor_inertia: Inertia
    """Of the rotor and what turns with it; reflected through the gear it moves with the leaf."""
    supply: MotorSupply = MotorSupply.MAINS
    """What feeds the motor."""
    rated_voltage: Voltage = 24_000.0
    """Voltage for which stall_torque, no_load_speed and stall_current are stated."""
    stall_current: Current | None = None
    """Current of the motor at standstill, at the rated voltage (needed with a battery)."""
    open_voltage: Voltage | None = None
    """Of the battery without load (needed with a battery)."""
    internal_resistance: Resistance = 0.0
    """Of the battery and its leads."""
    voltage_share: Share = 1.0
    """Largest share of the supply's voltage that the drive gives the motor."""
    backlash: Length = 0.0
    """Travel lost in gear and rack before the leaf moves when it starts the other way than last."""
    brake_force: Force | None = None
    """Braking force at the leaf once de-energised; absent: what gives `mass` and rotor `stopping_deceleration`."""


@dataclass(frozen=True, slots=True)
class Loads:
    """Forces on the leaf besides its running resistance."""

    slope: Slope = 0.0
    """Rise per run along the travel; positive: opening goes uphill."""
    counterbalance: Mass = 0.0
    """Counterweight of a vertical lift gate; it moves with the leaf."""
    breakaway: Force | None = None
    """Resistance at rest, to be overcome at a start; absent: the running resistance."""
    wind_pressure: Pressure = 0.0
    """Wind pressure on the leaf, half density times speed squared."""
    wind_area: Surface = 0.0
    """Area of the leaf that the wind meets."""
    wind_friction: Share = 0.1
    """Share of the wind's force that the guides of a sliding or lifting leaf add as resistance (ours)."""
    wind_towards: Direction = Direction.CLOSING
    """The way in which the wind turns a swinging leaf."""
    seal_force: Force = 0.0
    """Extra resistance at either end stop (seals, end guides)."""
    seal_length: Length = 0.0
    """Length before an end stop over which that resistance grows from nothing, in a straight line."""
    cold_factor: Factor = 1.0
    """Running resistance at the site's coldest, as a share of that at 20 degC (a straight line between them)."""
    temperature: Temperature | None = None
    """Of the guides in a run; absent: the run's (the site's `temperature`, or `coldest`)."""


@dataclass(frozen=True, slots=True)
class Swing:
    """Hinge and arm of a swinging leaf.  Origin at the hinge, one axis along the closed leaf, one to the opening side.

    `travel` of the gate is the arc of the closing edge.
    """

    arm: ArmKind
    """How the drive reaches the leaf."""
    leaf_width: Length
    """From the hinge to the closing edge."""
    pivot_back: Length
    """From the hinge to the drive's fixed pivot, along the closed leaf, away from it."""
    pivot_out: Length
    """From the hinge to the drive's fixed pivot, square to the closed leaf, to the opening side."""
    bracket: Length
    """From the hinge along the leaf to where the ram or link holds it."""
    bracket_out: Length = 0.0
    """From the leaf's line to that point, to the opening side."""
    arm_length: Length = 0.0
    """Of the arm that the drive turns (articulated arm)."""
    link_length: Length = 0.0
    """Of the link from arm to leaf (articulated arm)."""
