"""Whether a drive with a motor can move its leaf: each complaint with its place, the reason and a remedy."""

from __future__ import annotations

from dataclasses import replace

from gatesim.events import Direction, LeafName
from gatesim.plant.arms import OutOfReach
from gatesim.plant.curve import MN_PER_KG
from gatesim.plant.driven import Driven, Memory
from gatesim.plant.dynamics import GRAVITY, Dynamics, dynamics_of
from gatesim.plant.leaves import as_leaf, delay_of
from gatesim.plant.loads import ArmKind, Motor, MotorSupply, Swing
from gatesim.plant.site import GateKind, Site
from gatesim.plant.solve import solve
from gatesim.scenario.complaints import Notes
from gatesim.units import Dimension, format_quantity

LIGHTEST_RUN = 0.015
"""Running resistance of a guided gate over its weight, at least (from memory)."""
PLACES = 65
"""Of the travel at which forces are compared."""


def check_dynamics(site: Site, notes: Notes, leaf: LeafName = LeafName.FIRST) -> None:
    """All complaints about motor, loads and arm of a leaf."""
    site = as_leaf(site, leaf)
    gate, motor = site.gate, site.drive.motor
    before = len(notes.made)
    if motor is None:
        _without_motor(site, notes)
        return
    if site.drive.reflected_mass > 0:
        notes.error(("drive", "reflected_mass"), "the rotor would count twice: drive.motor has its rotor_inertia",
                    "leave reflected_mass out")
    _motor(motor, notes)
    _loads(site, notes)
    if gate.swing is not None:
        _swing(gate.swing, notes)
        if gate.kind is not GateKind.SWING:
            notes.error(("gate", "swing"), f"a {gate.kind.value} leaf has no hinge",
                        "leave swing out, or set kind to swinging")
    elif gate.kind is GateKind.SWING:
        notes.error(("gate", "kind"), "a swinging leaf needs its hinge and arm", "describe them under gate.swing")
    sound = gate.travel > 0 and gate.mass > 0 and site.drive.stopping_deceleration > 0
    if len(notes.made) > before or not sound:
        return
    if motor.brake_force is None:
        notes.warn(("drive", "motor"), "brake_force is not stated: however heavy the leaf, it then stops as stated",
                   "state the brake's force at the leaf, and a heavier leaf runs on farther")
    if gate.kind in (GateKind.SLIDING, GateKind.CANTILEVER):
        _guided(site, notes)
    for mass in dict.fromkeys((gate.mass, gate.heaviest or gate.mass)):
        try:
            forces = dynamics_of(replace(site, gate=replace(gate, mass=mass)))
        except OutOfReach as bad:
            notes.error(("gate", "swing"), bad.message, bad.remedy)
            return
        assert forces is not None
        said = "" if mass == gate.mass else f" with the heaviest leaf ({mass:g} kg)"
        if not (_can_move(site, forces, said, notes) and _can_hold(site, forces, said, notes)):
            return
        _in_time(site, leaf, forces, said, notes)


def _without_motor(site: Site, notes: Notes) -> None:
    gate = site.gate
    remedy = "describe drive.motor: these act only on a motion that follows from forces"
    if gate.loads is not None:
        notes.error(("gate", "loads"), "there are loads on the leaf and no motor", remedy)
    if gate.swing is not None:
        notes.error(("gate", "swing"), "there is an arm and no motor", remedy)
    if gate.kind in (GateKind.SWING, GateKind.LIFT):
        notes.error(("gate", "kind"), f"a {gate.kind.value} leaf needs a motor", "describe drive.motor")


def _motor(motor: Motor, notes: Notes) -> None:
    path = ("drive", "motor")
    notes.above_zero(motor, path, "stall_torque", "no_load_speed", "gear_ratio", "gear_efficiency", "pinion_radius",
                     "rated_voltage", "voltage_share")
    if motor.brake_force is not None and motor.brake_force <= 0:
        notes.error((*path, "brake_force"), "brake_force is zero", "it must be above zero, or left out")
    if motor.supply is MotorSupply.BATTERY:
        for name in ("open_voltage", "stall_current"):
            value = getattr(motor, name)
            if value is None:
                notes.error((*path, name), f"a battery needs {name}", "state it: the battery's sag follows from it")
            elif value <= 0:
                notes.error((*path, name), f"{name} is zero", "it must be above zero")


def _loads(site: Site, notes: Notes) -> None:
    loads, gate, path = site.gate.loads, site.gate, ("gate", "loads")
    if loads is None:
        return
    if loads.counterbalance > 0 and gate.kind is not GateKind.LIFT:
        notes.error((*path, "counterbalance"), f"a {gate.kind.value} leaf has no counterweight",
                    "leave it out, or set kind to vertical lift")
    if loads.slope != 0 and gate.kind is GateKind.LIFT:
        notes.error((*path, "slope"), "a vertical lift gate has no slope", "leave it out; its weight acts anyhow")
    if (loads.wind_pressure > 0) != (loads.wind_area > 0):
        name = "wind_area" if loads.wind_pressure > 0 else "wind_pressure"
        notes.error((*path, name), f"{name} is zero, so there is no wind", "state both, or neither")
    if loads.seal_force > 0 and loads.seal_length <= 0:
        notes.error((*path, "seal_length"), "seal_length is zero", "state over what length the seal's force grows")
    if 2 * loads.seal_length > gate.travel:
        notes.error((*path, "seal_length"), "the seals of both ends overlap", "make it less than half the travel")
    if loads.breakaway is not None and loads.breakaway < gate.running_resistance:
        notes.error((*path, "breakaway"), "the leaf would start more easily than it runs",
                    "make it at least running_resistance")
    if loads.temperature is not None and loads.temperature < site.coldest:
        notes.error((*path, "temperature"), "it is colder than the site's coldest", "set coldest lower")


def _guided(site: Site, notes: Notes) -> None:
    """A guided gate runs with 1.5 to 5 % of its weight (from memory); bare wheels are far below that."""
    weight = site.gate.mass * MN_PER_KG * GRAVITY
    share = site.gate.running_resistance / weight
    if share < LIGHTEST_RUN:
        notes.warn(("gate", "running_resistance"),
                   f"{_newton(site.gate.running_resistance)} are {100 * share:.1f} % of the leaf's weight; a guided "
                   "gate has 1.5 to 5 % (from memory)", "measure it on the gate with a spring balance")


def _swing(swing: Swing, notes: Notes) -> None:
    path = ("gate", "swing")
    notes.above_zero(swing, path, "leaf_width", "bracket")
    if swing.bracket > swing.leaf_width:
        notes.error((*path, "bracket"), "the bracket lies beyond the closing edge", "make it at most leaf_width")
    if swing.arm is ArmKind.ARTICULATED:
        notes.above_zero(swing, path, "arm_length", "link_length")
    elif swing.arm_length > 0 or swing.link_length > 0:
        notes.error((*path, "arm_length"), "a linear ram has no arm and no link", "leave both out")


def _newton(force: float) -> str:
    return f"{force / 1000:.0f} N"


def _where(x: float) -> str:
    return f"at {format_quantity(float(round(x)), Dimension.LENGTH)} of opening"


def _can_move(site: Site, forces: Dynamics, said: str, notes: Notes) -> bool:
    """Thrust against what holds the leaf, at a start and at speed; False where it fails."""
    drive, path = site.drive, ("drive", "motor")
    if forces.free <= drive.slow_speed:
        notes.error((*path, "no_load_speed"),
                    f"without load the drive makes {forces.free * 1000:.0f} mm/s, not above slow_speed",
                    "a faster motor, a smaller gear_ratio, a larger pinion_radius, or a lower slow_speed")
        return False
    for direction in Direction:
        sign = direction.sign
        left = []
        for x in _places(forces):
            ratio, held = forces.geometry(x)[1], forces.against((), x, sign)
            start = held + forces.breakaway - forces.friction
            left.append((ratio * forces.thrust(0.0) - start, ratio * forces.thrust(0.0), start, x))
        short, thrust, start, x = min(left)
        if short <= 0:
            notes.error((*path, "stall_torque"), f"{direction.value}, the gate can't move{said}: {_where(x)} "
                        f"{_newton(start)} hold it and the drive pushes with {_newton(thrust)}",
                        "a stronger motor, a larger gear_ratio, a higher stall_force, or less slope, wind or friction")
            return False
        _reaches(site, forces, direction, said, notes)
        pushes = min(thrust - held for _, thrust, held, _ in left)
        if pushes < drive.force_limit:
            notes.warn(("drive", "force_limit"), f"{direction.value}, the drive pushes an obstruction with "
                       f"{_newton(pushes)} at most at its weakest place{said}, below force_limit: the force sensing "
                       "may never count there", "a lower force_limit, or a stronger motor")
    return True


def _reaches(site: Site, forces: Dynamics, direction: Direction, said: str, notes: Notes) -> None:
    full = site.drive.speed_opening if direction is Direction.OPENING else site.drive.speed_closing
    most = min(_equilibrium(forces, x, direction.sign) for x in _places(forces))
    if most < full:
        notes.warn(("drive", f"speed_{direction.value}"),
                   f"{direction.value}, the drive makes {max(most, 0.0) * 1000:.0f} mm/s at its slowest place{said}, "
                   f"not the {full * 1000:.0f} mm/s that are set", "a stronger or faster motor, or a lower speed")


def _equilibrium(forces: Dynamics, x: float, sign: int) -> float:
    """Speed of the drive at which its line meets what holds the leaf."""
    needed = forces.against((), x, sign) / forces.geometry(x)[1]
    return forces.free * (1 - needed / forces.stall) if needed < forces.most else 0.0


def _can_hold(site: Site, forces: Dynamics, said: str, notes: Notes) -> bool:
    """Brake and motor against what pushes the leaf on; False where they fail."""
    drive = site.drive
    for direction in Direction:
        full = drive.speed_opening if direction is Direction.OPENING else drive.speed_closing
        for held_by, most, path, message, remedy in (
            ("the brake", forces.brake, ("drive", "motor", "brake_force"), "the brake can't stop the leaf",
             "a stronger brake, or less slope, weight or wind"),
            ("the motor", forces.holding(full), ("drive", f"speed_{direction.value}"),
             "the leaf runs away from its drive", "a stronger motor, a larger gear_ratio, or less slope or weight"),
        ):
            over, held, x = max(_pushed(forces, x, direction.sign, most) for x in _places(forces))
            if over >= 0:
                notes.error(path, f"{direction.value}, {message}{said}: {_where(x)} slope, weight or wind push it with "
                            f"{_newton(over + held)} and {held_by} holds {_newton(held)}", remedy)
                return False
    if abs(forces.along) > forces.breakaway and not drive.self_locking:
        notes.warn(("gate", "loads"), f"a released leaf moves by itself{said}: {_newton(abs(forces.along))} push it "
                   f"and {_newton(forces.breakaway)} hold it",
                   "a counterbalance, or a lock that holds it without the drive")
    return True


def _pushed(forces: Dynamics, x: float, sign: int, most: float) -> tuple[float, float, float]:
    """By how much the leaf is pushed on beyond what holds it, that, and where."""
    held = forces.geometry(x)[1] * most
    return -forces.against((), x, sign) - held, held, x


def _in_time(site: Site, leaf: LeafName, forces: Dynamics, said: str, notes: Notes) -> None:
    """A whole travel against its time limit, a start the other way against the start limit."""
    driven, table = Driven(site.drive, forces), site.controller
    if site.drive.acceleration <= 0 or site.drive.deceleration <= 0:
        return
    for direction in Direction:
        sign = direction.sign
        begin = 0.0 if sign > 0 else forces.travel
        time = delay_of(site, leaf, direction) + solve(
            forces, (), 0.0, begin, 0.0, sign, driven.ramp(sign, False)).t
        if time > getattr(table, f"travel_time_{direction.value}"):
            notes.warn(("controller", f"travel_time_{direction.value}"), f"a full travel takes longer{said}",
                       f"at least {format_quantity(float(round(time)), Dimension.DURATION)}")
    lost = driven.delay(Memory(last=-1), 1, True)
    if table.start_limit <= lost and table.start_limit > site.drive.start_delay:
        notes.warn(("controller", "start_limit"), f"every start the other way counts as failed{said}",
                   "make it longer than drive.start_delay and the time that the backlash takes")


def _places(forces: Dynamics) -> list[float]:
    return [forces.travel * k / (PLACES - 1) for k in range(PLACES)]
