"""Each requirement on hand-written traces of a few lines: a pass, each named failure, not exercised, undetermined."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from gatesim import events as e
from gatesim.events import Brake, Command, Direction, FoundBy, Guard, LeafName, Lockout, Origin, Run, Side
from gatesim.plant.site import Profile, SecondLeaf, Site
from gatesim.requirements.catalogue import requirements
from gatesim.requirements.judging import Judge
from gatesim.requirements.verdict import Outcome, Verdict

OPENING, CLOSING = Direction.OPENING, Direction.CLOSING
WIRED, RADIO, AUTOMATIC = Origin.WIRED, Origin.RADIO, Origin.AUTOMATIC
Story = list[tuple[float, Any]]
"""(milliseconds, event)"""


def order(way: Direction | None, lockout: Lockout = Lockout.NONE) -> e.OrdersChanged:
    return e.OrdersChanged(way, False, True, Brake.HOLD, False, lockout, False, "")


def press(command: Command, at: float = 0, origin: Origin = WIRED, held: float = 300) -> Story:
    return [(at, e.CommandPressed(command, origin)), (at + held, e.CommandReleased(command, origin))]


def starts(way: Direction, at: float, x: float | None = None, v: float = 0.3) -> Story:
    where = x if x is not None else (4e6 if way is CLOSING else 0.0)
    return [(at, order(way)), (at, e.MotionChanged(where, v * way.sign, 0.0, way)), (at, e.LeafStarted(way, where))]


def asked(way: Direction, at: float = 1000) -> Story:
    return [*press(Command.OPEN if way is OPENING else Command.CLOSE, at - 900), *starts(way, at)]


def stops(at: float, x: float = 2e6) -> Story:
    return [(at, order(None)), (at, e.MotionChanged(x, 0.0, 0.0, None)), (at, e.LeafStopped(x))]


def touch(at: float, way: Direction = CLOSING, edge: str = "nose", x: float = 2e6, blind: bool = False) -> Story:
    return [(at, e.ContactBegan("block", way, edge, x, 60_000.0, blind))]


def felt(at: float, way: Direction = CLOSING, x: float = 1.99e6) -> Story:
    return [(at, e.EdgeActuated("nose" if way is CLOSING else "tail", way, x))]


def freed(at: float, way: Direction = CLOSING) -> Story:
    return [(at, e.EdgeReleased("nose" if way is CLOSING else "tail", way))]


def disturbed(
    at: float,
    guard: Guard,
    device: str = "nose",
    wire: str = "loop wiring of nose",
    found: FoundBy = FoundBy.CONTINUOUSLY,
) -> Story:
    return [(at, e.WireDisturbed(wire, device, guard, found))]


def stored(at: float, lockout: Lockout) -> Story:
    return [(at, e.StoreWritten(lockout))]


HEARD: Story = [(0, e.FrameArrived("nose sender", 1)), (0, e.FrameArrived("tail sender", 1))]
ENTRAPPED = stored(0, Lockout.ENTRAPMENT)
OUTAGE: Story = [(5000, e.PowerLost()), (6000, e.PowerReturned())]
AT_OPEN: Story = [*asked(OPENING), (9000, e.LimitReached(Side.OPEN)), *stops(9100, 4e6)]
MOVES, TOUCH = asked(CLOSING), [*asked(CLOSING), *touch(3000)]
FELT = [*TOUCH, *felt(3030)]
BACK = [*FELT, *stops(3200, 1.95e6), *starts(OPENING, 3500, 1.95e6), *freed(3600)]
SECOND = [*BACK, *stops(5000, 2.5e6), *asked(CLOSING, 8000), *felt(9000)]
RELIEVED = [
    *asked(OPENING),
    *felt(3000, OPENING),
    *stops(3200, 2e6),
    *starts(CLOSING, 3500, 2e6),
    *freed(3600, OPENING),
]
GONE = [*MOVES, *disturbed(3000, Guard.CLOSING)]
BOTH_GONE = [*MOVES, *disturbed(3000, Guard.CLOSING), *disturbed(3000, Guard.OPENING, "tail", "loop wiring of tail")]
CUT = [*MOVES, *disturbed(3000, Guard.CLOSING, "nose sender", "radio path of nose sender", FoundBy.NEXT_CHECK_IN)]
SILENT = order(None)._replace(alarm=True)
LINK_BACK: Story = [
    (0, e.ReportChanged("nose", e.Level.REST, True, False, False, False)),
    (2000, e.ReportChanged("nose", e.Level.REST, True, True, False, False)),
]
NOT_FRESH = e.ReportChanged("nose", e.Level.REST, True, False, False, False)
HELD: Story = [(0, e.CommandPressed(Command.HOLD_CLOSE, WIRED)), *starts(CLOSING, 100)]
ALARM: Story = [(0, e.SounderChanged(True))]
LOW: Story = [(0, e.BatteryFlagged("nose sender", "low"))]
DAY = 86_400_000.0



def second(story: Story) -> Story:
    """The same on the second leaf."""
    return [(at, event._replace(leaf=LeafName.SECOND) if hasattr(event, "leaf") else event) for at, event in story]


def energised(at: float, way: Direction, leaf: LeafName = LeafName.FIRST) -> Story:
    return [(at, e.ContactorsChanged(way is OPENING, way is CLOSING, leaf))]


def leaf_moves(way: Direction, at: float, x: float, v: float = 0.3) -> Story:
    return [(at, e.MotionChanged(x, v * way.sign, 0.0, way)), (at, e.LeafStarted(way, x))]


def leaf_stands(at: float, x: float) -> Story:
    return [(at, e.MotionChanged(x, 0.0, 0.0, None)), (at, e.LeafStopped(x))]


BOTH_CLOSE = [*asked(CLOSING), *second(leaf_moves(CLOSING, 1000, 4e6))]
BOTH_FELT = [*BOTH_CLOSE, *second(touch(3000, edge="nose")), *second(felt(3030))]
TOP_OPENS = [*asked(OPENING), (1020, e.LimitLeft(Side.CLOSED))]
UNDER_LEAVES = [*second(leaf_moves(OPENING, 2000, 0.0)), *second([(2020, e.LimitLeft(Side.CLOSED))])]

def into_ray(at: float, way: Direction = CLOSING, beam: str = "ray") -> Story:
    return [(at, e.BeamInterrupted(beam, way, "somebody"))]


def out_of_ray(at: float, beam: str = "ray") -> Story:
    return [(at, e.BeamCleared(beam, CLOSING))]


SEEN = [*MOVES, *into_ray(3000)]
ALARM_LATER: Story = [(3400, e.SounderChanged(True))]
BEAM_FIRST = [*SEEN, (3030, order(None))]
SEEN_BACK = [*SEEN, *stops(3200), *starts(OPENING, 3500, 2e6)]
AGAIN = [*SEEN_BACK, *stops(5000, 2.5e6), *asked(CLOSING, 8000)]
AWAY = [*stops(9200), *starts(OPENING, 9500)]
ARMED: Story = [
    *AT_OPEN,
    (9200, e.OrdersChanged(None, False, False, Brake.HOLD, False, Lockout.NONE, True, "")),
]
WAITED = [*ARMED, *into_ray(12_000), *out_of_ray(20_000)]
RAY_GONE = disturbed(0, Guard.CLOSING, "ray", "beam output of ray", FoundBy.NEXT_START)
TESTED_RAY_GONE = disturbed(0, Guard.CLOSING, "tested ray", "beam light of tested ray", FoundBy.NEXT_START)

PASS, IDLE, OPEN_END = "pass", "not exercised", "undetermined"

CASES: dict[str, list[tuple[str, Story, float]]] = {
    "beam-reversal-begun": [
        (PASS, SEEN_BACK, 9000),
        (IDLE, MOVES, 9000),
        (OPEN_END, SEEN, 5000),
        (PASS, [*SEEN, *stops(3200), *starts(OPENING, 5000)], 9000),
        ("too late", [*SEEN, *stops(3200), *starts(OPENING, 5000.001)], 9000),
        ("no reversal", SEEN, 5000.001),
        ("no reversal", [*SEEN, *stops(3200)], 9000),
        (IDLE, [*SEEN, *out_of_ray(3110)], 9000),
        ("no reversal", [*SEEN, *out_of_ray(3111)], 9000),
        (PASS, [*SEEN, (3030, order(None)), *out_of_ray(3050), *stops(3200), *starts(OPENING, 3500)], 9000),
        (IDLE, [*MOVES, *into_ray(3000, OPENING)], 9000),
        (IDLE, [*into_ray(900, OPENING, "other"), *SEEN], 9000),
        (IDLE, [*MOVES, *disturbed(2000, Guard.OPENING, "tail"), *into_ray(3000)], 9000),
        (IDLE, [*SEEN, *felt(3010)], 9000),
        (IDLE, [*SEEN, *disturbed(3030, Guard.DRIVE, "closing", "contactor of closing")], 9000),
        (IDLE, [*disturbed(0, Guard.DRIVE, "closing", "contactor of closing"), *SEEN], 9000),
        (IDLE, [*felt(0, OPENING), *SEEN, *stops(3200)], 9000),
        ("no reversal", [*felt(0, OPENING), *freed(500, OPENING), *SEEN, *stops(3200)], 9000),
        (PASS, [*SEEN, (3030, order(None)), *felt(3050), *stops(3200), *starts(OPENING, 3500)], 9000),
        (IDLE, [*SEEN, *press(Command.STOP, 3010)], 9000),
        (IDLE, [*SEEN, (3010, e.PowerLost())], 9000),
        (IDLE, [*SEEN, (3010, e.LimitReached(Side.CLOSED)), *stops(3100, 0.0)], 9000),
        (IDLE, [*HELD, *into_ray(3000)], 9000),
        (IDLE, [*MOVES, (2000, order(None)), *into_ray(2010)], 9000),
    ],
    "beam-not-a-demand": [
        (PASS, [*AGAIN, *felt(9000), *AWAY], 20_000),
        (PASS, [*AGAIN, *into_ray(9000), *AWAY], 20_000),
        (PASS, [*BACK, *stops(5000, 2.5e6), *asked(CLOSING, 8000), *into_ray(9000), *AWAY], 20_000),
        (PASS, [*SEEN, (3030, order(None)), *felt(3050), *stops(3200), *starts(OPENING, 3500)], 9000),
        (IDLE, SEEN_BACK, 9000),
        (IDLE, [*MOVES, *felt(3000)], 9000),
        (IDLE, [*into_ray(0), *MOVES, *felt(3000)], 9000),
        ("counted", [*AGAIN, *felt(9000), *stops(9200), *stored(9210, Lockout.ENTRAPMENT)], 20_000),
        ("counted", [*SEEN, *stops(3200), *stored(3210, Lockout.ENTRAPMENT)], 20_000),
        ("alarm", [*SEEN, (3100, e.SounderChanged(True))], 9000),
        (OPEN_END, [*AGAIN, *felt(9000), *stops(9200)], 9508),
        (PASS, [*AGAIN, *felt(9000), *stops(9200)], 9508.001),
        (PASS, [*AGAIN, *felt(9000), *stops(9200), *asked(CLOSING, 15_000)], 20_000),
        ("counted", [*felt(0, OPENING), *SEEN, *stops(3200), *stored(3400, Lockout.ENTRAPMENT), *ALARM_LATER], 9000),
        (IDLE, [*SEEN_BACK, *into_ray(3600, OPENING, "other"), *stops(3700)], 9000),
        # Two demands are two, whatever a beam saw between them.
        (
            IDLE,
            [
                *BACK,
                *stops(5000, 2.5e6),
                *asked(CLOSING, 8000),
                *into_ray(9000),
                *felt(9010),
                *stops(9200),
                *stored(9210, Lockout.ENTRAPMENT),
                (9210, e.SounderChanged(True)),
            ],
            20_000,
        ),
        # A movement once completed begins anew.
        (
            IDLE,
            [
                *AGAIN,
                (12_000, e.LimitReached(Side.CLOSED)),
                *stops(12_010, 0.0),
                *asked(OPENING, 14_000),
                (20_000, e.LimitReached(Side.OPEN)),
                *stops(20_010, 4e6),
                *asked(CLOSING, 24_000),
                *felt(25_000),
            ],
            30_000,
        ),
    ],
    "beam-fault-found-by-test": [
        (PASS, [*RAY_GONE, (2000, e.BeamTested("ray", False))], 9000),
        (IDLE, RAY_GONE, 9000),
        (IDLE, [*RAY_GONE, (2000, e.BeamTested("tested ray", False))], 9000),
        ("started untested", [*RAY_GONE, *asked(CLOSING, 1100)], 9000),
        (IDLE, [*RAY_GONE, *asked(CLOSING, 1099)], 9000),
        (IDLE, [*RAY_GONE, *asked(OPENING, 5000)], 9000),
        ("passed its test", [*RAY_GONE, (111, e.BeamTested("ray", True))], 9000),
        (IDLE, [*RAY_GONE, (110, e.BeamTested("ray", True))], 9000),
        (IDLE, [*RAY_GONE, (500, e.WireRestored("beam output of ray", "ray")), *asked(CLOSING, 5000)], 9000),
        ("not found", TESTED_RAY_GONE, 2220.001),
        (OPEN_END, TESTED_RAY_GONE, 2220),
        (
            IDLE,
            [*TESTED_RAY_GONE, (30, e.ReportChanged("tested ray", e.Level.INTERRUPTED, True, True, False, False))],
            9000,
        ),
        (IDLE, [*disturbed(0, Guard.CLOSING), *asked(CLOSING, 5000)], 9000),
    ],
    "beam-restarts-the-pause": [
        (PASS, [*WAITED, *starts(CLOSING, 45_000)], 60_000),
        ("too soon", [*WAITED, *starts(CLOSING, 44_999.999)], 60_000),
        ("closed while interrupted", [*ARMED, *into_ray(12_000), *starts(CLOSING, 34_000)], 60_000),
        (OPEN_END, WAITED, 30_000),
        (IDLE, AT_OPEN, 30_000),
        (IDLE, [*AT_OPEN, *into_ray(12_000), *out_of_ray(20_000), *starts(CLOSING, 34_000)], 60_000),
        (IDLE, [*ARMED, *into_ray(12_000), *out_of_ray(12_110), *starts(CLOSING, 34_000)], 60_000),
        (IDLE, [*WAITED, *asked(CLOSING, 25_000)], 60_000),
        (IDLE, [*WAITED, (21_000, order(None)), *starts(CLOSING, 25_000)], 60_000),
        (IDLE, [*ARMED, *into_ray(12_000, OPENING), *out_of_ray(20_000), *starts(CLOSING, 34_000)], 60_000),
    ],
    "reversal-begun": [
        (PASS, BACK, 9000),
        (IDLE, MOVES, 9000),
        (PASS, [*SECOND[:-1], *touch(9000)], 60_000),
        (OPEN_END, FELT, 4000),
        (PASS, [*FELT, *stops(3200), *starts(OPENING, 5000)], 9000),
        ("too late", [*FELT, *stops(3200), *starts(OPENING, 5000.001)], 9000),
        ("no reversal", FELT, 9000),
        ("supply lost", [*FELT, (3300, e.PowerLost())], 9000),
        (IDLE, [*TOUCH, (3010, e.ContactEnded("block", CLOSING))], 9000),
        (IDLE, [*FELT, *press(Command.STOP, 3100)], 9000),
        (IDLE, [*HELD, *touch(3000)], 9000),
        (PASS, [*BEAM_FIRST, *touch(3050), *felt(3070), *stops(3200), *starts(OPENING, 3500)], 9000),
    ],
    "edge-alone-reversal-begun": [
        (PASS, BACK, 9000),
        (IDLE, MOVES, 9000),
        (OPEN_END, FELT, 4000),
        ("no reversal", TOUCH, 9000),
        ("too late", [*FELT, *stops(3200), *starts(OPENING, 5001)], 9000),
        ("supply lost", [*FELT, (3300, e.PowerLost())], 9000),
        (IDLE, [*MOVES, *touch(3000, edge="")], 9000),
        (IDLE, [*BEAM_FIRST, *touch(3050), *felt(3070), *stops(3200), *starts(OPENING, 3500)], 9000),
        ("no reversal", [*SEEN, *touch(3020), (3030, order(None)), *felt(3070), *stops(3200)], 9000),
    ],
    "force-alone-reversal-begun": [
        (PASS, BACK, 9000),
        (IDLE, MOVES, 9000),
        (OPEN_END, FELT, 4000),
        ("no reversal", TOUCH, 9000),
        ("too late", [*FELT, *stops(3200), *starts(OPENING, 5001)], 9000),
        ("supply lost", [*FELT, (3300, e.PowerLost())], 9000),
        (IDLE, [*MOVES, *touch(3000, blind=True)], 9000),
        (IDLE, [*BEAM_FIRST, *touch(3050), *felt(3070), *stops(3200), *starts(OPENING, 3500)], 9000),
        (IDLE, [*MOVES, *touch(1600)], 9000),
    ],
    "travel-after-actuation": [
        (PASS, [*FELT, *stops(3200, 1.93e6)], 9000),
        ("too far", [*FELT, *stops(3200, 1.929999e6)], 9000),
        (IDLE, TOUCH, 9000),
        (OPEN_END, [*TOUCH, *felt(3030, x=4e6 - 0.3 * 2030e3)], 3100),
        ("too far", [*TOUCH, *felt(3030, x=4e6 - 0.3 * 2030e3)], 3300),
    ],
    "edge-alone-travel-after-actuation": [
        (PASS, [*FELT, *stops(3200, 1.95e6)], 9000),
        ("too far", [*FELT, *stops(3200, 1.9e6)], 9000),
        (IDLE, [*BEAM_FIRST, *touch(3050), *felt(3070), *stops(3200, 1.9e6)], 9000),
        (IDLE, TOUCH, 9000),
        (OPEN_END, [*TOUCH, *felt(3030, x=4e6 - 0.3 * 2030e3)], 3100),
    ],
    "reversal-distance": [
        (PASS, [*BACK, *stops(5000, 1.95e6 + 50_800)], 9000),
        ("too short", [*BACK, *stops(5000, 1.95e6 + 50_799)], 9000),
        ("edge still pressed", [*BACK[:-1], *stops(5000, 2.5e6)], 9000),
        (IDLE, FELT, 9000),
        (OPEN_END, BACK, 4000),
        (IDLE, [*BACK, *press(Command.STOP, 3700), *stops(4000, 1.96e6)], 9000),
        (PASS, [*BACK, (4000, e.LimitReached(Side.OPEN)), *stops(4100, 1.96e6)], 9000),
    ],
    "opening-relief": [
        (PASS, [*RELIEVED, *stops(5000, 1.9e6)], 9000),
        ("too far", [*RELIEVED, *stops(5000, 1.7e6)], 9000),
        ("edge still pressed", [*RELIEVED[:-1], *stops(5000, 1.9e6)], 9000),
        (IDLE, MOVES, 9000),
        (OPEN_END, RELIEVED, 4000),
        ("closed end reached", [*RELIEVED, (9000, e.LimitReached(Side.CLOSED)), *stops(9100, 0.0)], 9500),
    ],
    "never-both-directions": [
        (PASS, [(0, e.ContactorsChanged(True, False))], 9),
        ("both energised", [(0, e.ContactorsChanged(True, True))], 9),
        (IDLE, [(0, e.ContactorsChanged(False, False))], 9),
    ],
    "motion-agrees-with-order": [
        (PASS, MOVES, 9000),
        (IDLE, [], 9000),
        (PASS, [(0, e.LeafStarted(OPENING, 0.0)), *stops(1000)], 9000),
        ("without an order", [(0, e.LeafStarted(OPENING, 0.0)), *stops(1001)], 9000),
        ("against the order", [(0, order(CLOSING)), (0, e.LeafStarted(OPENING, 0.0))], 9000),
        (OPEN_END, [(0, e.LeafStarted(OPENING, 0.0))], 500),
        (IDLE, [(0, e.LeafPushed(OPENING, "hand")), (0, e.LeafStarted(OPENING, 0.0))], 9000),
        (IDLE, [*touch(0), (5, e.LeafStarted(OPENING, 0.0))], 9000),
    ],
    "both-leaves-stop": [
        (PASS, [*BOTH_FELT, *stops(3900, 2e6), *second(leaf_stands(4030, 2e6))], 9000),
        ("too late", [*BOTH_FELT, *stops(3900, 2e6), *second(leaf_stands(4031, 2e6))], 9000),
        ("too late", [*BOTH_FELT, *second(leaf_stands(3900, 2e6)), *stops(4031, 2e6)], 9000),
        ("a leaf goes on", [*BOTH_FELT, *second(leaf_stands(3900, 2e6))], 9000),
        ("a leaf goes on", [*BOTH_FELT, *stops(3900, 2e6)], 9000),
        (OPEN_END, BOTH_FELT, 3900),
        (IDLE, BOTH_CLOSE, 9000),
        (IDLE, [*BOTH_FELT, (3300, e.PowerLost())], 9000),
        (IDLE, [*BOTH_FELT, *second(freed(3040))], 9000),
        ("a leaf goes on", [*BOTH_FELT, *second(freed(3900))], 9000),
        (
            PASS,
            [*BOTH_CLOSE, (3000, e.ForceTripped(CLOSING)), *stops(3500, 2e6), *second(leaf_stands(3500, 2e6))],
            9000,
        ),
    ],
    "leaves-keep-order": [
        (PASS, [*TOP_OPENS, *UNDER_LEAVES], 9000),
        (IDLE, TOP_OPENS, 9000),
        ("overlap not kept", [*TOP_OPENS, *second([(1500, e.LimitLeft(Side.CLOSED))])], 9000),
        ("overlap not kept", [*TOP_OPENS, *UNDER_LEAVES, *stops(3000, 6e5), *starts(CLOSING, 4000, 6e5)], 6000),
        (PASS, [*TOP_OPENS, *UNDER_LEAVES, *stops(3000, 6e5), *starts(CLOSING, 4000, 6e5), *stops(5000, 3e5)], 6000),
        ("overlap not kept", [*TOP_OPENS, *UNDER_LEAVES, *stops(3000, 6e5), *starts(CLOSING, 4000, 6e5),
                              *stops(5000, 299_999.0)], 6000),
        (IDLE, [(900, e.LeafPushed(OPENING, "wind", LeafName.SECOND)), *second(leaf_moves(OPENING, 900, 0.0)),
                *second([(920, e.LimitLeft(Side.CLOSED))])], 6000),
    ],
    "following-leaf-waits": [
        (PASS, [*asked(OPENING), *energised(1000, OPENING), *energised(1600, OPENING, LeafName.SECOND)], 9000),
        (
            "too soon",
            [*asked(OPENING), *energised(1000, OPENING), *energised(1599.999, OPENING, LeafName.SECOND)],
            9000,
        ),
        ("wrong leaf first", [*asked(OPENING), *energised(1000, OPENING, LeafName.SECOND)], 9000),
        (PASS, [*asked(OPENING), *energised(1000, OPENING), (1300, e.LimitReached(Side.OPEN))], 9000),
        (IDLE, MOVES, 9000),
        (IDLE, [*asked(OPENING), *energised(1000, OPENING), (1300, order(None))], 9000),
    ],
    "stop-obeyed": [
        (PASS, [*MOVES, (3000, order(None)), (4000, e.LeafStopped(2e6))], 9000),
        (IDLE, MOVES, 9000),
        ("not obeyed", [*MOVES, (3000, order(None)), (4001, e.LeafStopped(2e6))], 9000),
        ("not obeyed", [*MOVES, (3000, order(None))], 9000),
        (OPEN_END, [*MOVES, (3000, order(None))], 3900),
        (PASS, [*MOVES, (3000, order(None)), (3800, e.MainChanged(False))], 9000),
    ],
    "fault-in-motion": [
        (PASS, [*GONE, *stops(3200), *starts(OPENING, 5000)], 9000),
        ("too late", [*GONE, *stops(3200), *starts(OPENING, 5001)], 9000),
        ("no reaction", GONE, 9000),
        (OPEN_END, GONE, 4000),
        ("no reaction", [*GONE, (6000, e.LimitReached(e.Side.CLOSED)), *stops(6100)], 9000),
        (IDLE, [*GONE, (4000, e.LimitReached(e.Side.CLOSED)), *stops(4100)], 9000),
        (PASS, [*GONE, *stops(3200), *stored(3208, Lockout.CLOSING)], 9000),
        ("no lockout", [*GONE, *stops(3200), *stored(3208, Lockout.OPENING)], 9000),
        (IDLE, [*MOVES, *disturbed(3000, Guard.OPENING)], 9000),
        (IDLE, [*MOVES, *disturbed(3000, Guard.CLOSING, found=FoundBy.PRESS_TEST)], 9000),
        (IDLE, [*GONE, (3100, e.WireRestored("loop wiring of nose", "nose"))], 9000),
        ("no reaction", [*disturbed(950, Guard.CLOSING), *MOVES], 9000),
        (IDLE, [*disturbed(0, Guard.CLOSING), *MOVES], 9000),
        (IDLE, [*MOVES, *disturbed(3000, Guard.CLOSING, "nose sender", "cell of nose sender")], 9000),
        ("no reaction", [*MOVES, (3000, e.CellFell("nose sender", "critical"))], 9000),
    ],
    "fault-on-other-side": [
        (PASS, [*asked(OPENING), *disturbed(3000, Guard.CLOSING), *stored(3100, Lockout.CLOSING)], 9000),
        ("too late", [*asked(OPENING), *disturbed(3000, Guard.CLOSING), *stored(5001, Lockout.CLOSING)], 9000),
        ("not recorded", [*asked(OPENING), *disturbed(3000, Guard.CLOSING), *stored(3100, Lockout.OPENING)], 9000),
        (OPEN_END, [*asked(OPENING), *disturbed(3000, Guard.CLOSING)], 4000),
        (IDLE, GONE, 9000),
    ],
    "lost-link-found": [
        (PASS, [*CUT, (4500, NOT_FRESH)], 9000),
        ("too late", [*CUT, (4501, NOT_FRESH)], 9000),
        ("not found", CUT, 9000),
        (OPEN_END, CUT, 4000),
        (IDLE, GONE, 9000),
        (IDLE, [*CUT, (3500, e.WireRestored("radio path of nose sender", "nose sender"))], 9000),
    ],
    "no-unsafe-start": [
        (IDLE, [*HEARD, *MOVES], 9000),
        ("not yet heard", MOVES, 9000),
        ("edge pressed", [*HEARD, *felt(0), *MOVES], 9000),
        ("beam interrupted", [*HEARD, *into_ray(790), *MOVES], 9000),
        (IDLE, [*HEARD, *into_ray(791), *MOVES], 9000),
        (IDLE, [*HEARD, *into_ray(0), *out_of_ray(900), *MOVES], 9000),
        (IDLE, [*HEARD, *into_ray(0, OPENING, "other"), *MOVES], 9000),
        (IDLE, [*HEARD, *felt(950), *MOVES], 9000),
        ("device faulty", [*HEARD, *disturbed(0, Guard.CLOSING), *MOVES], 9000),
        (IDLE, [*HEARD, *disturbed(0, Guard.OPENING), *MOVES], 9000),
        ("battery critical", [*HEARD, (0, e.CellFell("nose sender", "critical")), *MOVES], 9000),
        (
            "drive faulty",
            [
                *HEARD,
                *disturbed(0, Guard.DRIVE, "opening", "contactor of opening", FoundBy.NEXT_START),
                *asked(CLOSING, 5000),
            ],
            9000,
        ),
        (
            PASS,
            [*HEARD, *felt(0), *press(Command.CLOSE, 1000), (1000, e.CommandRefused(Command.CLOSE, WIRED, "", "nose"))],
            1500,
        ),
        (PASS, [*HEARD, *felt(0), *press(Command.CLOSE, 1000)], 9000),
        (OPEN_END, [*HEARD, *felt(0), *press(Command.CLOSE, 1000)], 1500),
        (IDLE, [*HEARD, *felt(0), *HELD], 9000),
    ],
    "hold-stops-on-release": [
        (PASS, [*HELD, (1100, e.CommandReleased(Command.HOLD_CLOSE, WIRED)), *stops(1400, 3.6e6)], 9000),
        ("too far", [*HELD, (1100, e.CommandReleased(Command.HOLD_CLOSE, WIRED)), *stops(1500, 3.599999e6)], 9000),
        (
            "too far",
            [
                (0, e.CommandPressed(Command.HOLD_CLOSE, WIRED)),
                *starts(CLOSING, 0, 800_000.0),
                (1000, e.CommandReleased(Command.HOLD_CLOSE, WIRED)),
                *stops(1300, 440_000.0),
            ],
            9000,
        ),
        (OPEN_END, [*HELD, (1100, e.CommandReleased(Command.HOLD_CLOSE, WIRED))], 1200),
        (IDLE, MOVES, 9000),
    ],
    "lockout-origins": [
        (PASS, [*stored(0, Lockout.CLOSING), *HELD], 9000),
        ("moved by itself", [*stored(0, Lockout.CLOSING), *MOVES], 9000),
        (
            "moved by radio",
            [*stored(0, Lockout.CLOSING), (0, e.CommandPressed(Command.HOLD_CLOSE, RADIO)), *starts(CLOSING, 100)],
            9000,
        ),
        ("moved in a full lockout", [*ENTRAPPED, *HELD], 9000),
        (IDLE, [*stored(0, Lockout.OPENING), *MOVES], 9000),
        (PASS, [*ENTRAPPED, *press(Command.CLOSE, 100)], 9000),
        (OPEN_END, [*ENTRAPPED, (100, e.CommandPressed(Command.CLOSE, WIRED))], 9000),
    ],
    "second-demand-locks-out": [
        (PASS, [*SECOND, (9001, e.SounderChanged(True)), *stops(9200), *stored(11_000, Lockout.ENTRAPMENT)], 15_000),
        (
            "too late",
            [*SECOND, (9001, e.SounderChanged(True)), *stops(9200), *stored(11_001, Lockout.ENTRAPMENT)],
            15_000,
        ),
        ("no alarm", [*SECOND, *stops(9200), *stored(9210, Lockout.ENTRAPMENT)], 15_000),
        ("no lockout", [*SECOND, *stops(9200)], 15_000),
        ("motion goes on", SECOND, 15_000),
        ("reversed again", [*SECOND, *stops(9200), *starts(OPENING, 9500)], 15_000),
        ("supply lost", [*SECOND, (9100, e.PowerLost())], 15_000),
        (OPEN_END, SECOND, 10_000),
        (IDLE, BACK, 9000),
        (
            IDLE,
            [
                *BACK,
                (6000, e.LimitReached(Side.OPEN)),
                *stops(6100, 4e6),
                *asked(CLOSING, 8000),
                (12_000, e.LimitReached(Side.CLOSED)),
                *stops(12_100, 0.0),
                *asked(OPENING, 14_000),
                (18_000, e.LimitReached(Side.OPEN)),
                *stops(18_100, 4e6),
                *asked(CLOSING, 20_000),
                *felt(21_000),
            ],
            60_000,
        ),
    ],
    "alarm-outlives-power-loss": [
        (PASS, [*ALARM, *OUTAGE, (5000, e.SounderChanged(False)), (7000, e.SounderChanged(True))], 9000),
        ("too late", [*ALARM, *OUTAGE, (5000, e.SounderChanged(False)), (7001, e.SounderChanged(True))], 9000),
        ("silent after the power loss", [*ALARM, *OUTAGE, (5000, e.SounderChanged(False))], 9000),
        (OPEN_END, [*ALARM, (5000, e.PowerLost()), (5000, e.SounderChanged(False))], 9000),
        (IDLE, OUTAGE, 9000),
    ],
    "alarm-failure-announced": [
        (PASS, [(0, SILENT), (1000, e.Announced("alarm does not sound", "sounder"))], 9000),
        ("too late", [(0, SILENT), (1000.001, e.Announced("alarm does not sound", "sounder"))], 9000),
        ("not announced", [(0, SILENT), (500, e.Announced("battery low", "nose"))], 9000),
        ("not announced", [(0, SILENT), (3000, order(None))], 9000),
        ("not announced", [(0, SILENT), (10, e.SounderChanged(True)), (900, e.SounderChanged(False))], 9000),
        (IDLE, [(0, SILENT), (10, e.SounderChanged(True))], 9000),
        (IDLE, [(0, SILENT), (10, e.PowerLost())], 9000),
        (OPEN_END, [(0, SILENT)], 900),
    ],
    "recovery-time-kept": [
        (PASS, [*LINK_BACK, *asked(CLOSING, 5000)], 9000),
        ("too soon", [*LINK_BACK, *asked(CLOSING, 4999)], 9000),
        (PASS, [*LINK_BACK, *press(Command.CLOSE, 2500), (2500, e.CommandRefused(Command.CLOSE, WIRED, "", "nose"))],
         9000),
        (IDLE, [*LINK_BACK, *asked(OPENING, 3000)], 9000),
        (IDLE, [*LINK_BACK, *OUTAGE, *asked(CLOSING, 8000)], 9000),
        (IDLE, [(0, NOT_FRESH), *asked(CLOSING, 5000)], 9000),
    ],
    "alarm-lasts": [
        (PASS, [*ALARM, (300_000, e.SounderChanged(False))], 400_000),
        ("too short", [*ALARM, (299_999, e.SounderChanged(False))], 400_000),
        (OPEN_END, ALARM, 9000),
        (PASS, ALARM, 400_000),
        (IDLE, [*ALARM, *press(Command.RESET, 1000), (1300, e.SounderChanged(False))], 9000),
        (IDLE, [], 9000),
    ],
    "automatic-closing-cancelled": [
        (PASS, [*BACK, *stops(5000, 4e6)], 60_000),
        (OPEN_END, [*BACK, *stops(5000, 4e6)], 20_000),
        (IDLE, MOVES, 9000),
        (
            "closed after a demand",
            [*BACK, (4900, e.LimitReached(Side.OPEN)), *stops(5000, 4e6), *starts(CLOSING, 30_000)],
            60_000,
        ),
        ("closed after a stop", [*AT_OPEN, *press(Command.STOP, 9500), *starts(CLOSING, 30_000)], 60_000),
        ("closed after a power loss", [*AT_OPEN, (9500, e.PowerLost()), *starts(CLOSING, 30_000)], 60_000),
        (IDLE, [*BACK, *stops(5000, 4e6), *asked(CLOSING, 9000)], 60_000),
    ],
    "no-motion-without-command": [
        (PASS, OUTAGE, 9000),
        ("moved on power return", [*OUTAGE, *starts(CLOSING, 8000)], 9000),
        (IDLE, MOVES, 9000),
        ("moved on power return", [(0, e.CommandPressed(Command.CLOSE, WIRED)), *OUTAGE, *starts(CLOSING, 8000)], 9000),
        (PASS, [*OUTAGE, *asked(CLOSING, 8000)], 9000),
        ("moved on reset", [*press(Command.RESET), *starts(CLOSING, 8000)], 9000),
        (
            "moved on healing",
            [
                *disturbed(0, Guard.CLOSING),
                (5000, e.WireRestored("loop wiring of nose", "nose")),
                *starts(CLOSING, 8000),
            ],
            9000,
        ),
        (PASS, [*disturbed(0, Guard.CLOSING), (5000, e.WireRestored("loop wiring of nose", "nose"))], 9000),
    ],
    "reset-press-and-release": [
        (PASS, [*ENTRAPPED, *press(Command.RESET, 1000), *stored(1308, Lockout.NONE)], 9000),
        (IDLE, ENTRAPPED, 9000),
        ("cleared without a reset", [*ENTRAPPED, *stored(1308, Lockout.NONE)], 9000),
        (
            "cleared by a held reset",
            [*ENTRAPPED, *press(Command.RESET, 1000, held=5000), *stored(1500, Lockout.NONE)],
            9000,
        ),
        ("cleared from elsewhere", [*ENTRAPPED, *press(Command.RESET, 1000, RADIO), *stored(1308, Lockout.NONE)], 9000),
        (PASS, [*ENTRAPPED, *press(Command.RESET, 1000, held=5000)], 9000),
    ],
    "lockout-survives-power-loss": [
        (PASS, [*ENTRAPPED, *OUTAGE, (6000, order(None, Lockout.ENTRAPMENT))], 9000),
        (IDLE, OUTAGE, 9000),
        ("forgotten", [*ENTRAPPED, *OUTAGE, (6000, order(None))], 9000),
        (OPEN_END, [*ENTRAPPED, (5000, e.PowerLost())], 9000),
        (
            "moved against it",
            [*stored(0, Lockout.CLOSING), *OUTAGE, (6000, order(None, Lockout.CLOSING)), *asked(CLOSING, 8000)],
            9000,
        ),
    ],
    "battery-low-lead": [
        (PASS, [*LOW, (30 * DAY, e.CellFell("nose sender", "critical"))], 31 * DAY),
        ("too short", [*LOW, (30 * DAY - 1, e.CellFell("nose sender", "critical"))], 31 * DAY),
        ("low never flagged", [*LOW, (30 * DAY, e.CellFell("tail sender", "critical"))], 31 * DAY),
        (IDLE, LOW, 31 * DAY),
    ],
    "battery-low-announced": [
        (PASS, [*LOW, (1000, e.Announced("battery low", "nose")), *MOVES], 9000),
        ("not announced", [*LOW, *MOVES], 9000),
        ("not announced", [*LOW, (1000, e.Announced("battery low", "tail")), *MOVES], 9000),
        (IDLE, MOVES, 9000),
    ],
    "travel-time-limit": [
        (PASS, [*MOVES, (1000, e.ContactorsChanged(False, True)), (61_000, e.ContactorsChanged(False, False))], 90_000),
        (
            "goes on",
            [*MOVES, (1000, e.ContactorsChanged(False, True)), (61_001, e.ContactorsChanged(False, False))],
            90_000,
        ),
        (
            "reversed",
            [
                *MOVES,
                (1000, e.ContactorsChanged(False, True)),
                (61_000, e.ContactorsChanged(False, False)),
                *stops(61_300),
                *starts(OPENING, 62_000),
            ],
            90_000,
        ),
        (OPEN_END, [*MOVES, (1000, e.ContactorsChanged(False, True))], 9000),
        (IDLE, MOVES, 9000),
        (IDLE, [*HELD, (0, e.ContactorsChanged(False, True)), (80_000, e.ContactorsChanged(False, False))], 90_000),
    ],
    "residual-squeeze-ends": [
        (PASS, [(0, e.ForceRose("block", 25_000.0)), *stops(10), (5010, e.ForceFell("block", 25_000.0))], 9000),
        (
            "squeeze held",
            [(0, e.ForceRose("block", 25_000.0)), *stops(10), (5011, e.ForceFell("block", 25_000.0))],
            9000,
        ),
        ("squeeze held", [(0, e.ForceRose("block", 25_000.0)), *stops(10)], 9000),
        (OPEN_END, [(0, e.ForceRose("block", 25_000.0)), *stops(10)], 900),
        (IDLE, stops(10), 9000),
    ],
    "time-above-150-n": [
        (PASS, [(0, e.ForceRose("block", 150_000.0)), (750, e.ForceFell("block", 150_000.0))], 9000),
        ("too long", [(0, e.ForceRose("block", 150_000.0)), (750.001, e.ForceFell("block", 150_000.0))], 9000),
        (OPEN_END, [(0, e.ForceRose("block", 150_000.0))], 700),
        (IDLE, [(0, e.ForceRose("block", 25_000.0))], 9000),
    ],
    "overtravel-margin": [
        # 227 ms at 0.1 m/s and 0.01 / 2 m: 27.7 mm of 40 mm; at 0.3 m/s 68.1 + 45 mm.
        (PASS, [*starts(CLOSING, 1000, v=0.1), *stops(9000, 3.2e6)], 10_000),
        (PASS, starts(CLOSING, 1000, v=0.1), 10_000),
        ("overtravel too short", MOVES, 2000),
        ("overtravel too short", [*starts(OPENING, 1000, v=0.1), *stops(3000, 2e5), *asked(CLOSING, 5000)], 9000),
        (IDLE, [], 9000),
        (IDLE, [(0, e.LeafPushed(CLOSING, "wind")), *starts(CLOSING, 0)[1:], *stops(900)], 9000),
    ],
    "peak-force": [
        (PASS, [(0, e.ForcePeaked("block", CLOSING, 400_000.0, 499_999.0))], 9),
        (IDLE, [], 9),
        ("peak too high", [(0, e.ForcePeaked("block", CLOSING, 400_001.0, 499_999.0))], 9),
        (PASS, [(0, e.ForcePeaked("block", CLOSING, 1_400_000.0, 500_000.0))], 9),
        ("peak too high", [(0, e.ForcePeaked("block", CLOSING, 1_400_001.0, 500_000.0))], 9),
    ],
    "no-nuisance-stop": [
        (PASS, AT_OPEN, 12_000),
        ("stopped", [*MOVES, *stops(3000)], 9000),
        (OPEN_END, MOVES, 9000),
        (IDLE, [], 9000),
        ("reversed", [*MOVES, (3000, e.LeafStarted(OPENING, 2e6))], 9000),
        (IDLE, [*TOUCH, *stops(3200)], 9000),
        (IDLE, [*GONE, *stops(3200)], 9000),
        (IDLE, [*SEEN, *stops(3200)], 9000),
        (IDLE, [*into_ray(500), *MOVES, *stops(3200)], 9000),
        ("stopped", [*into_ray(500), *out_of_ray(900), *MOVES, *stops(3200)], 9000),
        (IDLE, [*MOVES, *press(Command.STOP, 2000), *stops(3200)], 9000),
    ],
    "reversal-after-standstill": [
        (
            PASS,
            [*MOVES, (1000, e.ContactorsChanged(False, True)), *stops(3000), (3500, e.ContactorsChanged(True, False))],
            9000,
        ),
        ("energised while moving", [*MOVES, (2000, e.ContactorsChanged(True, False))], 9000),
        (IDLE, [*MOVES, (1000, e.ContactorsChanged(False, True))], 9000),
    ],
    "warning-before-automatic-closing": [
        (PASS, [*AT_OPEN, (29_000, e.Announced("about to close", "")), *starts(CLOSING, 34_000)], 60_000),
        ("too short", [*AT_OPEN, (29_000, e.Announced("about to close", "")), *starts(CLOSING, 33_999)], 60_000),
        ("no warning", [*AT_OPEN, *starts(CLOSING, 34_000)], 60_000),
        (IDLE, [*AT_OPEN, *asked(CLOSING, 34_000)], 60_000),
    ],
    "way-back-unguarded": [
        (PASS, [*BOTH_GONE, *stops(3200)], 9000),
        (IDLE, [*GONE, *stops(3200)], 9000),
        (OPEN_END, BOTH_GONE, 3100),
        ("too far", [*BOTH_GONE, *stops(3200), *starts(OPENING, 3500, 2e6), *stops(5000, 2.3e6)], 9000),
        (PASS, [*BOTH_GONE, *stops(3200), *starts(OPENING, 3500, 2e6), *stops(4000, 2.1e6)], 9000),
        (IDLE, [*BOTH_GONE, *stops(3050), *starts(OPENING, 3060, 2e6), *stops(5000, 2.3e6)], 9000),
    ],
}


def judged(site: Site, name: str, story: Story, ends: float) -> Verdict:
    """The verdict on a story; a requirement on one means is asked in a fork at the (first) touch.

    One on both leaves is asked on a site that has two.
    """
    requirement = requirements()[name]
    if requirement.whole_gate and site.second_leaf is None:
        site = replace(site, second_leaf=SecondLeaf(LeafName.FIRST, 600_000, 1_200_000, 300_000.0))
    profile = Profile.TWO_MEANS if Profile.TWO_MEANS in requirement.limits() else Profile.PROVED_FORCE
    judge = Judge.begin(replace(site, limits=profile))
    twin = None
    for number, (at, event) in enumerate(sorted(story, key=lambda one: one[0])):
        (twin or judge).see(number, at * 1000, event)
        if requirement.run is not Run.WHOLE and isinstance(event, e.ContactBegan):
            twin = judge.twin(requirement.run)
    said = (twin or judge).verdicts(ends * 1000)
    return said.get(name, Verdict(Outcome.NOT_EXERCISED, reason="nothing was touched"))


@pytest.mark.parametrize(
    ("name", "expected", "story", "ends"), [(name, *case) for name, cases in CASES.items() for case in cases]
)
def test_a_story_gets_its_verdict(site: Site, name: str, expected: str, story: Story, ends: float) -> None:
    verdict = judged(site, name, story, ends)
    assert (verdict.failure or verdict.outcome.value) == expected
    assert (verdict.outcome is Outcome.FAIL) is (verdict.failure is not None)
    if verdict.outcome in (Outcome.NOT_EXERCISED, Outcome.UNDETERMINED):
        assert verdict.reason
    else:
        assert verdict.evidence
        assert set(verdict.evidence) <= set(range(len(story)))


def test_every_requirement_is_tried_in_every_way() -> None:
    """One that passes, one not exercised, and one for each named failure."""
    lacking = []
    for name, requirement in requirements().items():
        seen = {expected for expected, _, _ in CASES.get(name, [])}
        lacking += [(name, wanted) for wanted in (PASS, IDLE, *requirement.failures) if wanted not in seen]
        assert seen <= {PASS, IDLE, OPEN_END, *requirement.failures}
    assert lacking == []


def test_the_worst_of_several_triggers_counts(site: Site) -> None:
    story = [
        *asked(CLOSING),
        (3000, order(None)),
        (3300, e.LeafStopped(2e6)),
        *asked(CLOSING, 5000),
        (7000, order(None)),
        (7900, e.LeafStopped(1e6)),
        *asked(CLOSING, 9000),
        (11_000, order(None)),
        (11_100, e.LeafStopped(1e6)),
    ]
    verdict = judged(site, "stop-obeyed", story, 20_000)
    assert (verdict.figures.measured, verdict.figures.margin, verdict.at) == (900_000, 100_000, 7_000_000)


LET_GO: Story = [(3450, e.CommandPressed(Command.RESET, WIRED)), (3550, e.CommandReleased(Command.RESET, WIRED))]


@pytest.mark.parametrize(
    ("name", "story"),
    [
        # A reset let go after the reversal was ordered, before the leaf moves, has not moved it.
        (
            "no-motion-without-command",
            [*FELT, *stops(3200, 1.95e6), *LET_GO, (3500, order(OPENING)), *leaf_moves(OPENING, 3600, 1.95e6)],
        ),
        # A leaf that springs back without an order has not been reversed.
        (
            "reversal-distance",
            [*FELT, *stops(3200, 1.95e6), *leaf_moves(OPENING, 3500, 1.95e6), *leaf_stands(3600, 1.96e6)],
        ),
        # Running out past the limit switch after a demand completes nothing: what follows is the relief, no start.
        (
            "warning-before-automatic-closing",
            [
                *asked(OPENING),
                *felt(3000, OPENING),
                (3010, order(None)),
                (3020, e.LimitReached(Side.OPEN)),
                *leaf_stands(3200, 4e6),
                *starts(CLOSING, 3500, 4e6),
            ],
        ),
    ],
)
def test_what_only_looks_like_an_occasion_is_none(site: Site, name: str, story: Story) -> None:
    assert judged(site, name, story, 9000).outcome is Outcome.NOT_EXERCISED


def test_a_beam_guards_the_way_back_as_well(site: Site) -> None:
    """Both edges gone and a beam in order behind: nothing is judged; the beam gone too: the relief is the most."""
    back = replace(site.beams[0], name="back ray", zones=("rear",))
    guarded = replace(site, beams=(*site.beams, back))
    story = [*BOTH_GONE, *stops(3200), *starts(OPENING, 3500, 2e6), *stops(5000, 2.3e6)]
    assert judged(guarded, "way-back-unguarded", story, 9000).outcome is Outcome.NOT_EXERCISED
    gone = disturbed(3000, Guard.OPENING, "back ray", "beam output of back ray")
    assert judged(guarded, "way-back-unguarded", [*story, *gone], 9000).failure == "too far"
