"""What each fault kind does to what passes, written out by hand."""

from __future__ import annotations

from typing import Any, NamedTuple

from gatesim.events import Command, Direction, Level, Lockout, Origin
from gatesim.plant import wires as w
from gatesim.plant.logic.contract import Frame, Report
from gatesim.plant.part import Wire

KEEP = object()
"""Nothing is put on the wire: it changes, or not, by itself."""


class LevelRow(NamedTuple):
    """A level wire: what it carries at first, and steps of (ms after the fault began, put, what passes)."""

    kind: str
    device: str
    wire: Wire
    first: Any
    steps: tuple[tuple[float, Any, Any], ...]


class MessageRow(NamedTuple):
    """A message wire: messages put at (ms after the fault began), and what arrives when."""

    kind: str
    device: str
    wire: Wire
    puts: tuple[tuple[float, Any], ...]
    arrive: tuple[tuple[float, Any], ...]


def level(kind: str, device: str, wire: Wire, first: Any, *steps: tuple[float, Any, Any]) -> LevelRow:
    return LevelRow(kind, device, wire, first, steps)


REST = 8_203.0
PRESSED = 52.7
BLOCK = w.Block(
    "block", Direction.CLOSING, 1e6, ((0.0, 0.0), (10.0, 60.0), (50.0, 500.0)), 500.0, 10.0, "nose", 40.0, 3e6
)
OTHER = BLOCK._replace(obstruction="other", edge="post")
BARE = BLOCK._replace(obstruction="bare", edge="", actuates=None)
GOOD = Report("nose", Level.REST, True, True, False, False, 3)
BAD = GOOD._replace(level=Level.PRESSED)
OPEN_WIRED, STOP_RADIO = (Command.OPEN, Origin.WIRED), (Command.STOP, Origin.RADIO)
FRESH = w.Cell(3_600.0, 20.0)
EMPTY = w.Cell(2_000.0, 60.0)

LEVEL_ROWS: tuple[LevelRow, ...] = (
    level("loop-open", "nose", w.Loop("nose"), REST, (0, KEEP, 1e9), (10, PRESSED, 1e9)),
    level("loop-short", "nose", w.Loop("nose"), REST, (0, KEEP, 0.5), (10, REST + 1, 0.5)),
    level("weak-contact", "nose", w.StripContact("nose"), None, (0, KEEP, None), (10, 50.0, 3_000.0), (20, None, None)),
    level(
        "leakage-slow",
        "nose",
        w.Loop("nose"),
        8_000.0,
        (0, KEEP, 8e3 * 2e5 / 208e3),
        (9_999, KEEP, 8e3 * 2e5 / 208e3),
        (10_000, KEEP, 8e3 * 1e5 / 108e3),
        (20_000, 4e3, 4e3 * (2e5 / 3) / (4e3 + 2e5 / 3)),
    ),
    level("corroded-joint", "nose", w.Loop("nose"), REST, (0, KEEP, 15_000.0), (10, 103.0, 6_900.0)),
    level(
        "chatter",
        "nose",
        w.Loop("nose"),
        REST,
        (0, KEEP, 0.5),
        (9, KEEP, 0.5),
        (10, KEEP, REST),
        (20, KEEP, 0.5),
        (30, KEEP, REST),
        (35, PRESSED, PRESSED),
    ),
    level(
        "wire-flapping",
        "nose",
        w.Loop("nose"),
        REST,
        (0, KEEP, 1e9),
        (39, KEEP, 1e9),
        (40, KEEP, REST),
        (59, PRESSED, PRESSED),
        (60, KEEP, 1e9),
    ),
    level(
        "resistor-at-near-end",
        "tail",
        w.Loop("tail"),
        7_503.0,
        (0, KEEP, 7_500.0),
        (10, PRESSED, 7_500.0),
        (20, 1e9, 7_500.0),
    ),
    level(
        "wrong-termination", "nose", w.Loop("nose"), REST, (0, KEEP, 8_203 - (8_203 - 6_000) * 2 / 3), (10, 0.0, 0.0)
    ),
    level("edge-frozen-stiff", "nose", w.StripPressed("nose"), False, (0, KEEP, False), (10, True, False)),
    level(
        "edge-frozen-stiff",
        "nose",
        w.Blocks(),
        (),
        (0, KEEP, ()),
        (
            10,
            (BLOCK, OTHER, BARE),
            (BLOCK._replace(curve=((0.0, 0.0), (10.0, 480.0), (50.0, 4_000.0)), actuates=None), OTHER, BARE),
        ),
    ),
    level(
        "edge-torn-loose",
        "nose",
        w.Blocks(),
        (BLOCK,),
        (0, KEEP, (BLOCK._replace(actuates=None),)),
        (10, (OTHER, BARE), (OTHER, BARE)),
    ),
    level(
        "stays-pressed", "nose", w.StripPressed("nose"), False, (0, KEEP, False), (10, True, True), (20, False, True)
    ),
    level(
        "strip-bridged", "nose", w.StripContact("nose"), None, (0, KEEP, 400.0), (10, 50.0, 50.0), (20, 900.0, 400.0)
    ),
    level(
        "water-in-profile",
        "nose",
        w.StripContact("nose"),
        None,
        (0, KEEP, 1_000.0),
        (999, KEEP, 1_000.0),
        (1_000, KEEP, 2_000.0),
        (2_000, 50.0, 50.0),
        (7_000, None, 128_000.0),
        (8_000, KEEP, None),
        (9_000, KEEP, None),
    ),
    level("branch-broken", "sill", w.Branch("sill"), REST, (0, KEEP, None), (10, PRESSED, None)),
    level("strip-stays-closed", "lip", w.StripContact("lip"), 50.0, (0, KEEP, 50.0), (10, None, 1.0), (20, 3.0, 3.0)),
    level("loops-crossed-short", "pair", w.Loop("nose"), REST, (0, KEEP, REST / 2), (10, 100.0, 50.0)),
    level("loops-crossed-short", "pair", w.Loop("tail"), 7_503.0, (0, KEEP, 7_503.0 / 2)),
    level("converter-frozen", "pair", w.Code("nose"), 512, (0, KEEP, 512), (10, 7, 512), (20, 1023, 512)),
    level("converter-frozen", "pair", w.ReferenceCode("pair"), 511, (0, KEEP, 511), (10, 3, 511)),
    level("converter-stuck-bit", "pair", w.Code("tail"), 489, (0, KEEP, 505), (10, 16, 16), (20, -1, -1)),
    level("converter-stuck-bit", "pair", w.ReferenceCode("pair"), 512, (0, KEEP, 528)),
    level("multiplexer-stuck", "pair", w.Code("tail"), 489, (0, KEEP, 512), (10, 7, 512)),
    level(
        "reference-drift",
        "pair",
        w.ReferenceCode("pair"),
        512,
        (0, KEEP, 510),
        (99, KEEP, 510),
        (100, KEEP, 509),
        (3_900, KEEP, 460),
        (9_000, KEEP, 460),
    ),
    level("reference-drift", "pair", w.Code("nose"), 512, (0, KEEP, 510), (50, 7, 6)),
    level(
        "mains-hum",
        "nose",
        w.Code("nose"),
        512,
        (0, KEEP, 818),
        (9, KEEP, 818),
        (10, KEEP, 206),
        (20, KEEP, 818),
        (25, 900, 1_023),
        (30, KEEP, 594),
        (35, 200, 0),
    ),
    level(
        "comparator-oscillates",
        "pair",
        w.Code("tail"),
        489,
        (0, KEEP, 1_023),
        (9, KEEP, 1_023),
        (10, KEEP, 489),
        (15, 7, 7),
        (20, KEEP, 1_023),
    ),
    level("sense-rail-lost", "pair", w.Code("tail"), 489, (0, KEEP, 0), (10, 7, 0)),
    level("over-range-code", "nose", w.Code("nose"), 512, (0, KEEP, -1), (10, 7, -1)),
    level("sampler-dead", "pair", w.ScanClock("pair"), True, (0, KEEP, False)),
    level("wired-scan-dead", "input", w.ScanClock("input"), True, (0, KEEP, False)),
    level("check-in-clock-slow", "pair", w.CheckInClock("pair"), 1.0, (0, KEEP, 7.2)),
    level("margin-lowered", "pair", w.MarginTaken("pair"), 0.0, (0, KEEP, 20.0), (10, 3.0, 23.0)),
    level("cell-low", "pair", w.CellTerminals("pair"), FRESH, (0, KEEP, w.Cell(3_250.0, 20.0)), (10, EMPTY, EMPTY)),
    level(
        "cell-critical", "pair", w.CellTerminals("pair"), FRESH, (0, KEEP, w.Cell(2_850.0, 20.0)), (10, EMPTY, EMPTY)
    ),
    level(
        "cell-sag-cold",
        "pair",
        w.CellTerminals("pair"),
        FRESH,
        (0, KEEP, w.Cell(3_600.0, 27.5)),
        (499, KEEP, w.Cell(3_600.0, 27.5)),
        (500, KEEP, w.Cell(3_600.0, 35.0)),
        (1_500, KEEP, w.Cell(3_600.0, 50.0)),
        (9_000, EMPTY, EMPTY),
    ),
    level("cell-dead", "pair", w.CellTerminals("pair"), FRESH, (0, KEEP, w.Cell(0.0, 20.0))),
    level("motion-sense-stuck", "lone", w.MotionFelt("lone"), False, (0, KEEP, False), (10, True, False)),
    level(
        "receiver-dead",
        "receiver",
        w.ReportLine("nose"),
        GOOD,
        (0, KEEP, GOOD._replace(fresh=False)),
        (10, BAD, BAD._replace(fresh=False)),
    ),
    level("report-frozen", "nose", w.ReportLine("nose"), GOOD, (0, KEEP, GOOD), (10, BAD, GOOD)),
    level("test-request-lost", "test request", w.Ask(), 3, (0, KEEP, 3), (10, 4, 3)),
    level("supply-dip", "supply", w.Load(), 0.0, (0, KEEP, 1e12)),
    level("supply-weak", "supply", w.Load(), 0.0, (0, KEEP, 0.0), (10, 300.0, 3e8), (20, 0.0, 0.0)),
    level(
        "contactor-welded",
        "closing",
        w.Contactor("closing"),
        False,
        (0, KEEP, False),
        (10, True, True),
        (20, False, True),
    ),
    level("contactor-stays-open", "opening", w.Contactor("opening"), False, (0, KEEP, False), (10, True, False)),
    level("main-shut-off-welded", "main shut-off", w.MainContact(), True, (0, KEEP, True), (10, False, True)),
    level("main-shut-off-stays-open", "main shut-off", w.MainContact(), False, (0, KEEP, False), (10, True, False)),
    level("contactor-read-back-stuck", "opening", w.ContactorReadBack("opening"), True, (0, KEEP, False)),
    level("main-read-back-stuck", "main shut-off", w.MainReadBack(), False, (0, KEEP, True)),
    level("brake-coasting", "brake", w.Deceleration(), 1e-6, (0, KEEP, 2e-7)),
    level("drive-direction-swapped", "drive", w.DriveDirection(), True, (0, KEEP, False)),
    level("limit-switch-stuck-open", "closed", w.LimitSwitch("closed"), False, (0, KEEP, False), (10, True, False)),
    level("limit-switch-stuck-closed", "open", w.LimitSwitch("open"), False, (0, KEEP, True)),
    level("travel-sensor-slipping", "travel sensor", w.SensorGain(), 1.0, (0, KEEP, 0.9)),
    level("travel-sensor-frozen", "travel sensor", w.SensorGain(), 1.0, (0, KEEP, 0.0)),
    level("force-transducer-low", "force sensing", w.ForceGain(), 1.0, (0, KEEP, 0.3)),
    level("force-sensing-dead", "force sensing", w.ForceTrip(), False, (0, KEEP, False), (10, True, False)),
    level("force-sensing-dead", "force sensing", w.ForceReady(), True, (0, KEEP, False)),
    level("force-sensing-mute", "force sensing", w.ForceTrip(), False, (0, KEEP, False), (10, True, False)),
    level("force-trip-stuck", "force sensing", w.ForceTrip(), False, (0, KEEP, True)),
    level(
        "button-stuck",
        "hold close wired in view",
        w.Controls(),
        frozenset(),
        (0, KEEP, frozenset({(Command.HOLD_CLOSE, Origin.WIRED)})),
        (10, frozenset({OPEN_WIRED}), frozenset({OPEN_WIRED, (Command.HOLD_CLOSE, Origin.WIRED)})),
    ),
    level("button-stuck", "stop portable radio", w.Controls(), frozenset(), (0, KEEP, frozenset({STOP_RADIO}))),
    level("reset-stuck", "reset", w.Controls(), frozenset(), (0, KEEP, frozenset({(Command.RESET, Origin.WIRED)}))),
    level(
        "stop-dead",
        "stop",
        w.Controls(),
        frozenset(),
        (0, KEEP, frozenset()),
        (10, frozenset({OPEN_WIRED, STOP_RADIO}), frozenset({OPEN_WIRED})),
    ),
    level("sounder-dead", "sounder", w.Sound(), False, (0, KEEP, False), (10, True, False)),
    level(
        "store-write-lost",
        "store",
        w.ToStore(),
        (b"a", Lockout.NONE),
        (0, KEEP, (b"a", Lockout.NONE)),
        (10, (b"b", Lockout.BOTH), (b"a", Lockout.NONE)),
    ),
    level("beam-output-stuck-clear", "ray", w.BeamOutput("ray"), False, (0, KEEP, True), (10, True, True)),
    level("beam-output-stuck-interrupted", "ray", w.BeamOutput("ray"), True, (0, KEEP, False), (10, False, False)),
    level("beam-emitter-dead", "ray", w.BeamEmitter("ray"), True, (0, KEEP, False)),
    level("beam-test-pulse-ignored", "ray", w.BeamEmitter("ray"), True, (0, KEEP, True), (10, False, True)),
    level("beam-dazzled", "ray", w.BeamLight("ray"), True, (0, KEEP, True), (10, False, True)),
    level(
        "beam-cross-talk",
        "ray",
        w.BeamLight("ray"),
        False,
        (0, KEEP, True),
        (939, KEEP, True),
        (940, KEEP, False),
        (960, True, True),
        (970, False, False),
        (1_000, KEEP, True),
    ),
    level("store-corrupted", "store", w.Stored(), b"ab", (0, KEEP, b"aw"), (10, b"", b"")),
)


def frame(number: int, *levels: Level, **other: Any) -> Frame:
    """The n-th frame of `pair`, ten scans after the one before."""
    return Frame(7, 5, 40 + number, 100 + 10 * number, levels or (Level.REST, Level.REST), False, False, 0, **other)


HIT = (Level.PRESSED, Level.REST)
QUIET = (Level.REST, Level.REST)
F = [frame(n) for n in range(12)]
HITS = [frame(n, *HIT) for n in range(12)]
UP, HEARD = w.Uplink("pair"), w.Heard("pair")
ASKED = w.Told(True, 4)


def _restarted(number: int) -> Frame:
    return frame(number)._replace(session=6, counter=number, samples=1 + 10 * number)


def _stranger(number: int) -> Frame:
    return Frame(11, 1, number, number * 10, QUIET, False, False, 0)


MESSAGE_ROWS: tuple[MessageRow, ...] = (
    MessageRow("lost-link", "pair", UP, ((0, F[0]), (250, F[1])), ()),
    MessageRow("channel-busy", "radio channel", UP, ((0, F[0]), (250, F[1])), ()),
    MessageRow(
        "burst-loss",
        "pair",
        UP,
        ((0, F[0]), (1_349, F[1]), (1_350, F[2]), (1_849, F[3]), (1_850, F[4]), (3_200, F[5])),
        ((1_350, F[2]), (1_849, F[3]), (3_200, F[5])),
    ),
    MessageRow("frames-delayed", "pair", UP, ((0, F[0]), (250, F[1])), ((1_500, F[0]), (1_750, F[1]))),
    MessageRow(
        "one-way-frames-delayed", "lone", w.Uplink("lone"), ((0, F[0]), (250, F[1])), ((1_500, F[0]), (1_750, F[1]))
    ),
    MessageRow("latency-high", "pair", UP, ((0, F[0]), (15, F[1])), ((120, F[0]), (135, F[1]))),
    MessageRow(
        "queue-backlog", "pair", HEARD, ((0, F[0]), (250, F[1]), (500, F[2])), ((100, F[0]), (450, F[1]), (800, F[2]))
    ),
    MessageRow(
        "frames-repeated",
        "pair",
        UP,
        ((0, F[0]), (150, HITS[1])),
        ((0, F[0]), *[(100 * n, F[0]) for n in range(1, 40)]),
    ),
    MessageRow("frames-reordered", "pair", UP, ((0, F[0]), (15, HITS[1]), (30, HITS[2])), ((15, HITS[1]), (15, F[0]))),
    MessageRow(
        "frame-corrupted", "pair", UP, ((0, HITS[0]),), ((0, frame(0)._replace(counter=40 ^ 0x55, sound=False)),)
    ),
    MessageRow(
        "event-lost-check-ins-pass",
        "pair",
        UP,
        ((0, F[0]), (10, HITS[1]), (25, HITS[2]), (40, HITS[3]), (250, HITS[4]), (260, F[5])),
        ((0, F[0]), (250, HITS[4])),
    ),
    MessageRow("transmitter-unpaired", "pair", UP, ((0, HITS[0]),), ((0, HITS[0]._replace(sender=10)),)),
    MessageRow(
        "foreign-frames-inserted",
        "pair",
        UP,
        ((700, HITS[0]),),
        ((0, _stranger(1)), (500, _stranger(2)), (700, HITS[0]), *[(500 * n, _stranger(n + 1)) for n in range(2, 8)]),
    ),
    MessageRow(
        "masquerade", "pair", HEARD, ((0, F[0]), (10, HITS[1]._replace(critical=True))), ((0, F[0]), (10, F[1]))
    ),
    MessageRow("identity-doubled", "pair", HEARD, ((0, HITS[0]),), ((0, HITS[0]), (0, F[0]._replace(session=6)))),
    MessageRow(
        "transmitter-restarts",
        "pair",
        UP,
        ((0, F[0]), (250, F[1]), (500, F[2])),
        ((0, _restarted(0)), (250, _restarted(1)), (500, _restarted(2))),
    ),
    MessageRow("downlink-cut", "pair", w.Downlink("pair"), ((0, ASKED),), ()),
    MessageRow("motion-untold", "pair", w.ToldMotion("pair"), ((0, ASKED),), ((0, w.Told(False, 4)),)),
)
