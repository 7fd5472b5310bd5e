"""A leaf with a motor: its forces by hand, its arm by geometry, and what it does in each case."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from gatesim.events import Brake, Direction, EnterObstruction, LeafStarted, LeafStopped, LeaveObstruction
from gatesim.plant import leaf, obstruction
from gatesim.plant.arms import INTERVALS, OutOfReach, arm_of
from gatesim.plant.driven import Driven, Memory
from gatesim.plant.dynamics import Dynamics, backlash_time, dynamics_of, slowest_edge, start_thrust, weakest_stop
from gatesim.plant.loads import ArmKind, Loads, Motor, MotorSupply, Swing
from gatesim.plant.motion import at
from gatesim.plant.site import GateKind, Site, WithoutPower
from gatesim.plant.solve import CREEP, solve
from gatesim.plant.wires import Block, BrakeOrder, Contactor, Motion, Supply

OPEN, CLOSE = Contactor("opening"), Contactor("closing")
MM = 1_000.0
MOTOR = Motor(stall_torque=2.0, no_load_speed=3_000.0, gear_ratio=30.0, gear_efficiency=0.5, pinion_radius=40 * MM,
              rotor_inertia=0.0004)


def with_motor(site: Site, motor: Motor = MOTOR, loads: Loads | None = None, **gate: Any) -> Site:
    return replace(site, drive=replace(site.drive, motor=motor), gate=replace(site.gate, loads=loads, **gate))


def forces_of(site: Site) -> Dynamics:
    found = dynamics_of(site)
    assert found is not None
    return found


# --- forces by hand ----------------------------------------------------------------------------------------------


def test_without_a_motor_there_are_no_forces(site: Site) -> None:
    assert dynamics_of(site) is None
    assert weakest_stop(site) == site.drive.stopping_deceleration
    assert slowest_edge(site) == 1.0


def test_line_and_rotor_through_gear_and_pinion(site: Site) -> None:
    forces = forces_of(with_motor(site))
    assert forces.stall == pytest.approx(2.0 * 30 * 0.5 / 0.04 * 1e3)  # 750 N
    assert forces.free == pytest.approx(3_000 / 60 * 2 * math.pi / 30 * 0.04)  # 0.4189 m/s
    assert forces.rotor == pytest.approx(0.0004 * (30 / 0.04) ** 2)  # 225 kg
    assert (forces.mass, forces.along, forces.friction) == (400.0, 0.0, 100_000.0)
    assert forces.thrust(forces.free / 2) == pytest.approx(forces.stall / 2)
    assert forces.holding(forces.free / 2) == pytest.approx(forces.stall / 2)
    assert replace(forces, most=1_000.0).thrust(0.0) == 1_000.0 == replace(forces, most=1_000.0).holding(1.0)
    assert forces.brake == pytest.approx(1e-6 * 625 * 1e9)  # the stated 1 m/s2 of leaf and rotor


def test_a_battery_tilts_the_line(site: Site) -> None:
    """24 V, 40 A at stall: 0.6 ohm of winding.  0.2 ohm before it leaves 3/4 of the stall torque; 22 V are 11/12."""
    battery = replace(MOTOR, supply=MotorSupply.BATTERY, rated_voltage=24_000.0, stall_current=40e6,
                      open_voltage=22_000.0, internal_resistance=0.2)
    mains, fed = forces_of(with_motor(site)), forces_of(with_motor(site, battery))
    assert fed.stall == pytest.approx(mains.stall * 22 / 24 * 0.75)
    assert fed.free == pytest.approx(mains.free * 22 / 24)
    # At half the voltage the battery sees half the motor's current: its resistance counts a quarter.
    half = forces_of(with_motor(site, replace(battery, voltage_share=0.5)))
    assert half.stall == pytest.approx(mains.stall * 11 / 24 * 0.6 / 0.65)
    share = forces_of(with_motor(site, replace(MOTOR, voltage_share=0.5)))
    assert (share.stall, share.free) == (pytest.approx(mains.stall / 2), pytest.approx(mains.free / 2))


def test_the_thrust_of_a_start(site: Site) -> None:
    assert start_thrust(site) == 400 * 0.5e-6 * 1e9 + 100_000
    assert start_thrust(with_motor(site)) == pytest.approx(625 * 0.5e3 + 100_000)
    assert start_thrust(with_motor(site, loads=Loads(breakaway=150_000.0))) == pytest.approx(625 * 0.5e3 + 150_000)
    assert start_thrust(with_motor(site, replace(MOTOR, stall_torque=1.0))) == pytest.approx(375_000)


def test_slope_wind_cold_and_weight(site: Site) -> None:
    slope = forces_of(with_motor(site, loads=Loads(slope=0.03)))
    assert slope.along == pytest.approx(400 * 9.80665 * math.sin(math.atan(0.03)) * 1e3)
    # 10 m/s give 61.25 Pa, on 2 m2 122.5 N (worked figure, density 1.225 kg/m3); a tenth is felt as friction (ours).
    wind = Loads(wind_pressure=61.25, wind_area=2.0e6)
    assert forces_of(with_motor(site, loads=wind)).friction == pytest.approx(100_000 + 12_250)
    cold = Loads(cold_factor=1.5, breakaway=120_000.0)
    assert forces_of(with_motor(site, loads=cold)).friction == pytest.approx(150_000)
    assert forces_of(with_motor(site, loads=cold)).breakaway == pytest.approx(150_000)
    assert forces_of(with_motor(site, loads=replace(cold, temperature=0.0))).friction == pytest.approx(125_000)
    assert forces_of(with_motor(site, loads=replace(cold, temperature=30.0))).friction == pytest.approx(100_000)
    # A run warmer than the coldest, with guides of which nothing else is said.
    mild = replace(with_motor(site, loads=cold), temperature=0.0)
    assert forces_of(mild).friction == pytest.approx(125_000)
    lift = forces_of(with_motor(site, loads=Loads(counterbalance=350.0), kind=GateKind.LIFT))
    assert (lift.mass, lift.along) == (750.0, pytest.approx(50 * 9.80665 * 1e3))


RAM = Swing(ArmKind.RAM, 2_500 * MM, 150 * MM, 200 * MM, 1_000 * MM)


def test_a_swinging_leaf_is_a_third_of_its_mass_at_its_edge(site: Site) -> None:
    """Inertia of a slab about its edge, m w^2 / 3, over w^2; wind as a moment p A w / 2, over w."""
    motor = replace(MOTOR, pinion_radius=2 * MM, gear_ratio=20.0, rotor_inertia=0.0001)
    loads = Loads(wind_pressure=100.0, wind_area=3.0e6, wind_towards=Direction.OPENING)
    forces = forces_of(with_motor(site, motor, loads, kind=GateKind.SWING, swing=RAM, travel=3_900 * MM))
    assert forces.mass == pytest.approx(400 / 3)
    assert forces.along == pytest.approx(-150_000)
    assert forces.friction == 100_000


def test_seals_grow_towards_the_stops(site: Site) -> None:
    forces = forces_of(with_motor(site, loads=Loads(seal_force=80_000.0, seal_length=40 * MM)))
    assert [forces.sealing(x) for x in (0.0, 20 * MM, 40 * MM, 2e6, 4e6)] == [80_000, 40_000, 0, 0, 80_000]


# --- the arm by geometry -----------------------------------------------------------------------------------------


def test_a_ram_by_the_law_of_cosines() -> None:
    table = arm_of(RAM, 3_900 * MM, 2 * MM)
    assert min(table.ratio) == 1.0

    def length(x: float) -> float:
        angle = x / (2_500 * MM)
        return math.hypot(1_000 * MM * math.cos(angle) + 150 * MM, 1_000 * MM * math.sin(angle) - 200 * MM)

    for x in (0.0, 123_456.7, 1.9e6, 3.0e6, 3.9e6):
        way, ratio, bend = table.at(x)
        assert way * table.raw == pytest.approx(length(0.0) - length(x), abs=0.01)
        h = 500.0
        if 0 < x < 3.9e6:
            assert ratio * table.raw == pytest.approx((length(x - h) - length(x + h)) / (2 * h), rel=1e-6)
            curl = -(length(x + h) - 2 * length(x) + length(x - h)) / (h * h)
            assert bend * table.raw == pytest.approx(curl, abs=3e-11)
        assert table.place_of(way) == pytest.approx(x, abs=1e-5)
    assert table.place_of(-1.0) == 0.0
    assert table.place_of(1e9) == INTERVALS / table.per_um


def test_a_parallelogram_turns_its_arm_with_the_leaf() -> None:
    """Arm as long as hinge to bracket, link as long as hinge to pivot: arm and leaf stay parallel and turn alike."""
    table = arm_of(Swing(ArmKind.ARTICULATED, 2_500 * MM, 200 * MM, 250 * MM, 900 * MM, 0.0, 900 * MM,
                         math.hypot(200, 250) * MM), 3_900 * MM, 100 * MM)
    assert table.raw == pytest.approx(100 / 2_500)
    assert table.ratio == pytest.approx([1.0] * (INTERVALS + 1))
    assert table.at(1.7e6) == pytest.approx((1.7e6, 1.0, 0.0), abs=1e-6)


@pytest.mark.parametrize(("change", "said"), [
    ({"arm": ArmKind.ARTICULATED, "arm_length": 300 * MM, "link_length": 400 * MM}, "can't reach"),
    ({"pivot_out": 900 * MM, "bracket_out": 300 * MM}, "dead centre"),
    ({"bracket": 150 * MM, "bracket_out": 200 * MM, "pivot_back": 0.0, "pivot_out": 250 * MM}, "dead centre"),
    ({"leaf_width": 1_100 * MM}, "degrees"),
])
def test_an_arm_that_can_not_follow_is_refused(change: dict[str, Any], said: str) -> None:
    with pytest.raises(OutOfReach) as caught:
        arm_of(replace(RAM, **change), 3_900 * MM, 2 * MM)
    assert said in caught.value.message
    assert caught.value.remedy


# --- motion by closed forms --------------------------------------------------------------------------------------


def test_the_run_up_of_a_motor_on_its_line(site: Site) -> None:
    """v = V (1 - exp(-t/T)): V where line and friction meet, T = m v0 / F0; no soft start in the way."""
    fast = with_motor(site)
    fast = replace(fast, drive=replace(fast.drive, acceleration=100e-6, speed_opening=1.0, stall_force=2e6))
    forces = forces_of(fast)
    end = solve(forces, (), 0.0, 0.0, 0.0, 1, Driven(fast.drive, forces).ramp(1, False))
    final = forces.free * (1 - 100_000 / forces.stall)
    tau = 625 * 1e9 * forces.free / forces.stall
    for t in (0.1 * tau, tau, 3 * tau, 8e6):
        x, v = at(end.pieces, t)
        assert v == pytest.approx(final * (1 - math.exp(-t / tau)), abs=1e-4)
        assert x == pytest.approx(final * (t - tau * (1 - math.exp(-t / tau))), abs=10.0)


def test_stated_ramps_are_kept_exactly_where_the_motor_is_strong(site: Site) -> None:
    """The plain leaf's times: 0.6 s up to 0.3 m/s, then slowing at 0.25 m/s2 to the slow zone."""
    strong = with_motor(site, replace(MOTOR, stall_torque=60.0, no_load_speed=30_000))
    strong = replace(strong, drive=replace(strong.drive, stall_force=1e8))
    forces = forces_of(strong)
    end = solve(forces, (), 0.0, 0.0, 0.0, 1, Driven(strong.drive, forces).ramp(1, False))
    cruise = (4_000 - 300 - 90 - 160) / 0.3 * 1e3
    assert [piece.t for piece in end.pieces] == pytest.approx(
        [0, 600_000, 600_000 + cruise, 1_400_000 + cruise, 4_400_000 + cruise], abs=1e-3)
    assert [piece.a for piece in end.pieces] == [0.5e-6, 0.0, -0.25e-6, 0.0, 0.0]


def test_a_stop_under_brake_and_friction(site: Site) -> None:
    forces = forces_of(with_motor(site, loads=Loads(slope=0.02)))
    end = solve(forces, (), 0.0, 2e6, -0.3, -1, None, forces.brake)
    a = (forces.brake + 100_000 - forces.along) / (625 * 1e9)
    assert 2e6 - end.x == pytest.approx(0.3**2 / (2 * a))
    assert end.t == pytest.approx(0.3 / a)


def test_a_leaf_that_pushes_softly_stands_in_the_end(site: Site) -> None:
    """Against a soft spring the line is stiffer than the spring: the leaf creeps, and stands at the creep limit."""
    soft = with_motor(site)
    forces = forces_of(soft)
    block = Block("foam", Direction.OPENING, 1e6, ((0.0, 0.0),), 0.5, None, "", 0.0, 0.0)
    end = solve(forces, (block,), 0.0, 0.0, 0.0, 1, Driven(soft.drive, forces).ramp(1, False))
    deepest = (forces.stall - 100_000) / 0.5
    assert 0 < 1e6 + deepest - end.x < 1.5 * CREEP * forces.stall / forces.free / 0.5  # speed times line over spring
    assert end.v == 0


# --- in the world ------------------------------------------------------------------------------------------------


@pytest.fixture
def moved(site: Site, bench: Any) -> Any:
    """Makes a bench of a leaf with a motor and the obstructions; contactors fed by hand."""
    def make(loads: Loads | None = None, motor: Motor = MOTOR, at_x: float = 4e6, **drive: Any) -> Any:
        made = with_motor(site, motor, loads)
        made = replace(made, leaf_at=at_x, drive=replace(made.drive, **drive))
        return bench([*leaf.parts(made, None), *obstruction.parts(made, None)])

    return make


def place(yard: Any, now: float) -> tuple[float, float]:
    return at(yard.level(Motion()), now)


def test_the_thrust_goes_on_for_the_stopping_delay(moved: Any, feed: Any) -> None:
    yard = moved()
    yard.at(0, feed(CLOSE, True))
    yard.until(5e6)
    x, v = place(yard, 5e6)
    yard.at(5_000_000, feed(CLOSE, False))
    assert place(yard, 5.15e6)[1] == pytest.approx(v)
    yard.until(20e6)
    stopped = yard.all(LeafStopped)[0]
    # the brake as stated (1 m/s2 of 625 kg) and 100 N of friction
    a = 1e-6 + 100_000 / 625e9
    assert stopped.at == pytest.approx(5_150_000 + -v / a)
    assert x - stopped.event.x == pytest.approx(-v * 150_000 + v * v / (2 * a))


def test_a_worn_brake_takes_longer(site: Site) -> None:
    made = with_motor(site)
    driven = Driven(made.drive, forces_of(made))
    for share in (1.0, 0.3):
        inputs = leaf.Inputs(None, False, False, False, 1e-6 * share, ())
        pieces = driven.cut_off(inputs, 0.0, 0.0, 2e6, -0.3, Memory())
        assert pieces[-1].t == pytest.approx(0.3 / (1e-6 * share + 100_000 / 625e9))


def test_backlash_delays_the_other_way_only(moved: Any, feed: Any) -> None:
    yard = moved(motor=replace(MOTOR, backlash=4 * MM))
    yard.at(0, feed(CLOSE, True))
    yard.at(3_000_000, feed(CLOSE, False))
    yard.at(5_000_000, feed(CLOSE, True))
    yard.at(7_000_000, feed(CLOSE, False))
    yard.at(9_000_000, feed(OPEN, True))
    yard.until(10e6)
    lost = math.sqrt(2 * 4 * MM / 0.5e-6)  # 126 ms under the soft start
    assert yard.instants(LeafStarted) == pytest.approx([100_000, 5_100_000, 9_100_000 + lost])


def test_backlash_longer_than_the_ramp(site: Site) -> None:
    # 0.1 m/s after 0.2 s and 10 mm; 20 mm more take 0.2 s
    assert backlash_time(30 * MM, site.drive, 0.1) == pytest.approx(400_000)
    assert backlash_time(0.0, site.drive, 0.1) == 0.0


def test_turned_round_while_moving(moved: Any, feed: Any) -> None:
    yard = moved()
    yard.at(0, feed(CLOSE, True))
    yard.at(5_000_000, feed(CLOSE, False), feed(OPEN, True))
    yard.until(10e6)
    v = 0.3
    halted = 5_000_000 + v / (1e-6 + 100_000 / 625e9)
    assert yard.instants(LeafStopped) == pytest.approx([halted])
    assert yard.instants(LeafStarted) == pytest.approx([100_000, halted + 100_000])


def test_de_energised_in_the_start_delay_it_never_moves(moved: Any, feed: Any) -> None:
    yard = moved()
    yard.at(0, feed(CLOSE, True))
    yard.at(50_000, feed(CLOSE, False))
    yard.until(5e6)
    assert yard.all(LeafStarted) == []


def test_too_weak_it_stays(moved: Any, feed: Any) -> None:
    yard = moved(loads=Loads(breakaway=800_000.0))
    yard.at(0, feed(CLOSE, True))
    yard.until(5e6)
    assert yard.all(LeafStarted) == []


def test_without_power_a_coasting_leaf_has_friction_only(moved: Any, feed: Any) -> None:
    yard = moved(without_power=WithoutPower.COASTING)
    yard.at(0, feed(CLOSE, True))
    yard.at(5_000_000, feed(Supply(), False))
    yard.until(20e6)
    assert yard.instants(LeafStopped)[0] == pytest.approx(5_000_000 + 0.3 / (100_000 / 625e9))


def test_a_released_leaf_rolls_down_its_slope(moved: Any, feed: Any) -> None:
    """5 % of 400 kg are 196 N, more than the 100 N that hold it: it rolls to the closed stop."""
    yard = moved(loads=Loads(slope=0.05))
    yard.at(1_000_000, feed(BrakeOrder(), Brake.HOLD))
    yard.until(5e6)
    assert yard.all(LeafStarted) == []
    yard.at(6_000_000, feed(BrakeOrder(), Brake.RELEASE))
    yard.until(60e6)
    pull = 400 * 9.80665 * math.sin(math.atan(0.05)) * 1e3 - 100_000
    assert [s.event.direction for s in yard.all(LeafStarted)] == [Direction.CLOSING]
    assert yard.instants(LeafStopped) == pytest.approx([6e6 + math.sqrt(2 * 4e6 * 625e9 / pull)])


def test_a_released_leaf_is_sprung_back_by_what_it_squeezes(moved: Any, feed: Any) -> None:
    yard = moved()
    yard.at(0, EnterObstruction("post", "front", 2e6, 50.0, False))
    yard.at(0, feed(CLOSE, True))
    yard.until(15e6)
    deep = 2e6 - place(yard, 15e6)[0]
    spring = 1 / (1 / 50 + 1 / 500)
    # It was brought up at 0.3 m/s, and the thrust came on top: deeper than standing thrust alone would go.
    assert deep * spring > forces_of(with_motor(yard_site(yard))).stall - 100_000
    yard.at(16_000_000, feed(CLOSE, False))
    yard.at(17_000_000, feed(BrakeOrder(), Brake.RELEASE))
    yard.until(40e6)
    x, v = place(yard, 40e6)
    assert v == 0
    # What the spring gave has gone into friction over the way back.
    assert spring * deep * deep / 2 == pytest.approx(100_000 * (x - 2e6 + deep), rel=1e-6)


def yard_site(yard: Any) -> Site:
    """The plain site of a bench's leaf (its gate and drive)."""
    part = next(part for part in yard.plant.parts if isinstance(part, leaf.Leaf))
    return Site("yard", part.gate, part.drive, (), (), None)  # type: ignore[arg-type]


def test_an_obstruction_that_leaves_lets_it_go_on(moved: Any, feed: Any) -> None:
    yard = moved()
    yard.at(0, EnterObstruction("post", "front", 2e6, None, False))
    yard.at(0, feed(CLOSE, True))
    yard.until(15e6)
    assert len(yard.all(LeafStopped)) == 1
    yard.at(16_000_000, LeaveObstruction("post"))
    yard.until(60e6)
    assert yard.all(LeafStopped)[-1].event.x == 0.0
