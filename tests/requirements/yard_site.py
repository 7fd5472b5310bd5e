"""A site of our own, built in Python."""

from __future__ import annotations

from gatesim.events import Direction
from gatesim.plant import site as s


def made() -> s.Site:
    """A sliding gate of 4 m; an edge on each side, each on its own transmitter."""

    def edge(name: str, zone: str, on: str) -> s.Edge:
        return s.Edge(
            name,
            zone,
            on,
            8_200.0,
            6_000.0,
            10_000.0,
            20_000.0,
            1.0,
            50.0,
            1_500_000.0,
            10_000.0,
            60_000.0,
            40_000.0,
            500_000.0,
        )

    def transmitter(name: str, identity: int) -> s.Transmitter:
        cell = s.Cell(2.4e6, 3_600.0, 2_000.0, 0.05, 20.0, 2_900.0, 2_600.0, 2_100.0, 0.01)
        return s.Transmitter(
            name,
            identity,
            10_000,
            2,
            5,
            10_000_000,
            250_000,
            0,
            4,
            15_000,
            s.LearnsMotion.TOLD,
            100_000,
            s.Monitoring.BEFORE_EACH_MOVE,
            12_000,
            0,
            0.0,
            1_200,
            25_000.0,
            4_000,
            2e-5,
            8.0,
            cell,
        )

    drive = s.Drive(
        speed_opening=0.3,
        speed_closing=0.3,
        slow_speed=0.1,
        slow_zone=300_000.0,
        acceleration=0.5e-6,
        deceleration=0.25e-6,
        start_delay=100_000,
        stopping_delay=150_000,
        stopping_deceleration=1e-6,
        stall_force=1_000_000.0,
        force_limit=300_000.0,
        force_dwell=50_000,
        blind_after_start=700_000,
        blind_at_end=25_000.0,
        limit_lead=5_000.0,
        without_power=s.WithoutPower.HELD,
    )
    return s.Site(
        "yard",
        s.Gate(s.GateKind.SLIDING, 4_000_000.0, 400.0, 100_000.0),
        drive,
        (s.Zone("front", Direction.CLOSING, 0.0, 4_000_000.0), s.Zone("rear", Direction.OPENING, 0.0, 4_000_000.0)),
        (edge("nose", "front", "nose sender"), edge("tail", "rear", "tail sender")),
        s.ControllerTable(1_000_000.0, automatic_closing=20_000_000),
        s.ReceiverTable(("nose sender", "tail sender"), 30_000_000, 800_000),
        (transmitter("nose sender", 1), transmitter("tail sender", 2)),
        beams=(
            s.Beam("ray", ("front",), 0.0, 4e6, 200_000.0, 30_000, 80_000),
            s.Beam("tested ray", ("front",), 0.0, 4e6, 200_000.0, 30_000, 80_000, s.Monitoring.CONTINUOUSLY, 2_000_000),
        ),
    )
