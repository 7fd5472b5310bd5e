"""An invented site, of no product and no real place, built in Python."""

from __future__ import annotations

from dataclasses import replace

from gatesim.events import Direction
from gatesim.plant.site import (
    Cell,
    ControllerTable,
    Drive,
    Edge,
    Gate,
    GateKind,
    LearnsMotion,
    Monitoring,
    ReceiverTable,
    Site,
    Transmitter,
    WiredInput,
    WithoutPower,
    Zone,
)

MM = 1_000.0
S = 1_000_000


def a_cell() -> Cell:
    return Cell(capacity=2.4e6, open_voltage=3600, end_voltage=2000, knee=0.1, resistance=20, low_voltage=2900,
                critical_voltage=2600, dead_voltage=2100, self_discharge=0.01)


def a_transmitter(name: str = "node", **other: object) -> Transmitter:
    made = Transmitter(
        name=name, identity=101, sampling=10_000, debounce=2, fault_debounce=4, checkin_at_rest=20 * S,
        checkin_in_motion=250_000, checkin_jitter=10_000, event_repeats=3, event_spacing=15_000,
        learns_motion=LearnsMotion.TOLD, feel_delay=100_000, monitoring=Monitoring.BEFORE_EACH_MOVE, latency=12_000,
        latency_spread=4_000, loss=0.0, air_time=1_000, burst_current=25_000, burst_length=4_000, sample_charge=2e-5,
        sleep_current=8, cell=a_cell())
    return replace(made, **other)  # type: ignore[arg-type]


def an_edge(name: str, zone: str, node: str, **other: object) -> Edge:
    made = Edge(
        name=name, zone=zone, input=node, termination=8_200, band_low=6_900, band_high=9_800, open_above=60_000,
        wire_resistance=0.3, contact_resistance=120, length=1_700 * MM, actuating_travel=6 * MM,
        actuating_force=45_000, overtravel=55 * MM, full_force=300_000)
    return replace(made, **other)  # type: ignore[arg-type]


def a_drive(**other: object) -> Drive:
    made = Drive(
        speed_opening=0.22, speed_closing=0.2, slow_speed=0.08, slow_zone=350 * MM, acceleration=0.5e-6,
        deceleration=0.4e-6, start_delay=60_000, stopping_delay=50_000, stopping_deceleration=0.9e-6,
        stall_force=700_000, force_limit=240_000, force_dwell=60_000, blind_after_start=500_000, blind_at_end=20 * MM,
        limit_lead=6 * MM, without_power=WithoutPower.HELD)
    return replace(made, **other)  # type: ignore[arg-type]


def a_site(**other: object) -> Site:
    """Closing: an edge on a transmitter; opening: an edge on another transmitter; force sensing in both."""
    made = Site(
        name="Weir Walk",
        gate=Gate(GateKind.SLIDING, travel=4_600 * MM, mass=320, running_resistance=95_000),
        drive=a_drive(),
        zones=(Zone("gap", Direction.CLOSING, 0, 4_600 * MM), Zone("pocket", Direction.OPENING, 0, 4_600 * MM)),
        edges=(an_edge("front edge", "gap", "front node"), an_edge("rear edge", "pocket", "rear node")),
        receiver=ReceiverTable(("front node", "rear node"), watchdog_at_rest=70 * S, watchdog_in_motion=900_000),
        controller=ControllerTable(reversal_distance=1_200 * MM, automatic_closing=45 * S),
        transmitters=(a_transmitter("front node"), a_transmitter("rear node", identity=102)))
    return replace(made, **other)  # type: ignore[arg-type]


def a_wired_site() -> Site:
    """The closing edge on a wired input, nothing by radio."""
    wired = WiredInput("closing input", sampling=5_000, debounce=3, fault_debounce=6,
                       monitoring=Monitoring.BEFORE_EACH_MOVE)
    return a_site(edges=(an_edge("front edge", "gap", "closing input"),), transmitters=(), wired_inputs=(wired,),
                  receiver=None)
