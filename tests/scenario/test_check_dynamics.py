"""A motor that can't move its leaf, an arm that can't reach: refused with place, reason and remedy."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from gatesim.events import Direction
from gatesim.plant.loads import ArmKind, Loads, MotorSupply
from gatesim.plant.site import GateKind, Site
from gatesim.scenario.check_site import Complaint, check_site, warnings_of
from gatesim.scenario.read import read_site

SITES = Path(__file__).parents[2] / "scenarios" / "sites"
SLOPE, SWING, PLAIN = (read_site(SITES / f"{name}.site.yaml") for name in ("quarry-bank", "kiln-court", "mill-lane"))


def motor(site: Site, **change: Any) -> Site:
    assert site.drive.motor is not None
    return replace(site, drive=replace(site.drive, motor=replace(site.drive.motor, **change)))


def loads(site: Site, **change: Any) -> Site:
    return gate(site, loads=replace(site.gate.loads or Loads(), **change))


def gate(site: Site, **change: Any) -> Site:
    return replace(site, gate=replace(site.gate, **change))


def swing(**change: Any) -> Site:
    assert SWING.gate.swing is not None
    return gate(SWING, swing=replace(SWING.gate.swing, **change))


ERRORS: list[tuple[Site, tuple[str, ...], str, str]] = [
    (gate(PLAIN, loads=Loads()), ("gate", "loads"), "no motor", "drive.motor"),
    (gate(PLAIN, swing=SWING.gate.swing), ("gate", "swing"), "no motor", "drive.motor"),
    (gate(PLAIN, kind=GateKind.SWING), ("gate", "kind"), "needs a motor", "drive.motor"),
    (gate(PLAIN, kind=GateKind.LIFT), ("gate", "kind"), "needs a motor", "drive.motor"),
    (motor(SLOPE, stall_torque=0.0), ("drive", "motor", "stall_torque"), "is zero", "above zero"),
    (motor(SLOPE, gear_efficiency=0.0), ("drive", "motor", "gear_efficiency"), "is zero", "above zero"),
    (motor(SLOPE, pinion_radius=0.0), ("drive", "motor", "pinion_radius"), "is zero", "above zero"),
    (motor(SLOPE, brake_force=0.0), ("drive", "motor", "brake_force"), "is zero", "left out"),
    (motor(SLOPE, supply=MotorSupply.BATTERY), ("drive", "motor", "open_voltage"), "needs open_voltage", "sag"),
    (motor(SWING, stall_current=0.0), ("drive", "motor", "stall_current"), "is zero", "above zero"),
    (motor(SLOPE, stall_torque=0.4), ("drive", "motor", "stall_torque"), "can't move", "stronger motor"),
    (motor(SLOPE, no_load_speed=400.0), ("drive", "motor", "no_load_speed"), "not above slow_speed", "faster motor"),
    (loads(SLOPE, breakaway=900_000.0), ("drive", "motor", "stall_torque"), "can't move", "friction"),
    (loads(SLOPE, slope=0.3), ("drive", "motor", "stall_torque"), "can't move", "slope"),
    (loads(SLOPE, counterbalance=50.0), ("gate", "loads", "counterbalance"), "no counterweight", "vertical lift"),
    (loads(SLOPE, wind_area=0.0), ("gate", "loads", "wind_area"), "no wind", "both"),
    (loads(SLOPE, wind_pressure=0.0), ("gate", "loads", "wind_pressure"), "no wind", "both"),
    (loads(SLOPE, seal_length=0.0), ("gate", "loads", "seal_length"), "is zero", "length"),
    (loads(SLOPE, seal_length=2.5e6), ("gate", "loads", "seal_length"), "overlap", "half"),
    (loads(SLOPE, breakaway=10_000.0), ("gate", "loads", "breakaway"), "more easily", "running_resistance"),
    (loads(SLOPE, temperature=-40.0), ("gate", "loads", "temperature"), "colder", "coldest"),
    (gate(SLOPE, kind=GateKind.LIFT), ("gate", "loads", "slope"), "no slope", "weight"),
    (gate(SLOPE, kind=GateKind.SWING), ("gate", "kind"), "hinge and arm", "gate.swing"),
    (gate(SLOPE, swing=SWING.gate.swing), ("gate", "swing"), "has no hinge", "swinging"),
    (swing(leaf_width=0.0), ("gate", "swing", "leaf_width"), "is zero", "above zero"),
    (swing(bracket=3e6), ("gate", "swing", "bracket"), "beyond the closing edge", "leaf_width"),
    (swing(arm_length=5e5), ("gate", "swing", "arm_length"), "no arm", "leave both out"),
    (swing(arm=ArmKind.ARTICULATED), ("gate", "swing", "arm_length"), "is zero", "above zero"),
    (swing(arm=ArmKind.ARTICULATED, arm_length=3e5, link_length=4e5), ("gate", "swing"), "can't reach", "together"),
    (swing(pivot_out=9e5, bracket_out=3e5), ("gate", "swing"), "dead centre", "lever"),
    (swing(leaf_width=1.2e6), ("gate", "swing"), "would turn by", "half a turn"),
    (loads(gate(motor(SLOPE, brake_force=200_000.0), running_resistance=1_000.0), slope=-0.1, wind_pressure=0.0,
           wind_area=0.0, cold_factor=1.0, breakaway=None), ("drive", "motor", "brake_force"), "can't stop", "brake"),
]


def errors_of(site: Site) -> list[Complaint]:
    return [made for made in check_site(site) if not made.warning]


@pytest.mark.parametrize(("site", "path", "said", "remedy"), ERRORS)
def test_it_is_refused(site: Site, path: tuple[str, ...], said: str, remedy: str) -> None:
    found = [made for made in errors_of(site) if made.path == path and said in made.message]
    assert found, errors_of(site)
    assert remedy in found[0].remedy


@pytest.mark.parametrize("site", [SLOPE, SWING])
def test_the_shipped_ones_have_nothing_to_say(site: Site) -> None:
    assert check_site(site) == ()


def test_downhill_faster_than_the_motor_holds_is_refused() -> None:
    """312 N push it; at 0.22 m/s the motor, 474 N at stall and 0.378 m/s free, holds 276 N."""
    site = loads(motor(gate(SLOPE, running_resistance=1_000.0), stall_torque=1.0), slope=-0.1, wind_pressure=0.0,
                 wind_area=0.0, cold_factor=1.0, breakaway=None)
    found = [made for made in errors_of(site) if "runs away" in made.message]
    assert [made.path for made in found] == [("drive", "speed_opening")]


def test_the_heaviest_leaf_is_tried_too() -> None:
    site = gate(SLOPE, heaviest=2_500.0)
    assert any("heaviest leaf (2500 kg)" in made.message for made in errors_of(site))


@pytest.mark.parametrize(("site", "said"), [
    (motor(SLOPE, no_load_speed=1_900.0), "at its slowest place"),
    (loads(SLOPE, slope=0.06), "a released leaf moves by itself"),
    (motor(SLOPE, stall_torque=1.0), "may never count"),
    (motor(SLOPE, brake_force=None), "however heavy the leaf"),
    (gate(SLOPE, running_resistance=20_000.0), "1.5 to 5 % (from memory)"),
    (replace(SWING, controller=replace(SWING.controller, travel_time_closing=25_000_000)), "takes longer"),
    (motor(SLOPE, backlash=40_000.0), "every start the other way"),
])
def test_it_is_warned_of(site: Site, said: str) -> None:
    assert errors_of(site) == []
    assert any(said in warning for warning in warnings_of(site))


def test_wind_that_opens_is_on_the_opening_side() -> None:
    """Wind towards opening alone pushes a released swinging leaf."""
    site = loads(SWING, wind_towards=Direction.OPENING, wind_pressure=80.0)
    assert any("a released leaf moves by itself" in warning for warning in warnings_of(site))
