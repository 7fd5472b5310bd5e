"""Logic without the matching check goes wrong: beside each fault kind a double that differs from the reference in one
place, and a program in which the reference notices what the double does not.

A kind whose only remedy is a person's test has no such logic; `BEYOND_LOGIC` names them, with the reason.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

import pytest

from gatesim.events import (
    Announced,
    Command,
    CommandRefused,
    Direction,
    EnterObstruction,
    Event,
    ForcePeaked,
    FoundBy,
    LeafStarted,
    Level,
    LevelChanged,
    Lockout,
    LosePower,
    OrdersChanged,
    PowerReturned,
    PressStrip,
    ReleaseStrip,
    ReturnPower,
)
from gatesim.plant.build import build
from gatesim.plant.fault import Place
from gatesim.plant.faults.catalogue import faults, place
from gatesim.plant.logic.contract import ReceiverSeen, ReceiverSettings, Roles
from gatesim.plant.logic.receiver_reference import ReferenceReceiver
from gatesim.plant.receiver import paired

sys.path.insert(0, str(Path(__file__).parent))

from fault_bench import SITE, S, Stimuli, Whole, at_place, press, references, together
from fault_tables import frame

from gatesim.search.doubles.classifier_averages import Averages
from gatesim.search.doubles.classifier_battery_at_rest import BatteryAtRest
from gatesim.search.doubles.classifier_every_second import EverySecond
from gatesim.search.doubles.classifier_follows import Follows
from gatesim.search.doubles.classifier_forgives import Forgives
from gatesim.search.doubles.classifier_keeps_last import KeepsLast
from gatesim.search.doubles.classifier_low_only import LowOnly
from gatesim.search.doubles.classifier_near_zero import NearZero
from gatesim.search.doubles.classifier_slow import Slow
from gatesim.search.doubles.classifier_without_reference import WithoutReference
from gatesim.search.doubles.controller_believes_level import BelievesLevel
from gatesim.search.doubles.controller_believes_limit import BelievesLimit
from gatesim.search.doubles.controller_believes_order import BelievesOrder
from gatesim.search.doubles.controller_believes_reports import BelievesReports
from gatesim.search.doubles.controller_believes_stop import BelievesStop
from gatesim.search.doubles.controller_clean_slate import CleanSlate
from gatesim.search.doubles.controller_critical_is_a_lamp import CriticalIsALamp
from gatesim.search.doubles.controller_edge_triggered import EdgeTriggered
from gatesim.search.doubles.controller_forgets_trip import ForgetsTrip
from gatesim.search.doubles.controller_ignores_beams import IgnoresBeams
from gatesim.search.doubles.controller_level_reset import LevelReset
from gatesim.search.doubles.controller_low_is_a_lamp import LowIsALamp
from gatesim.search.doubles.controller_one_cut_off import OneCutOff
from gatesim.search.doubles.controller_resumes import Resumes
from gatesim.search.doubles.controller_skips_tests import SkipsTests
from gatesim.search.doubles.controller_trusts_edges import TrustsEdges
from gatesim.search.doubles.controller_trusts_force import TrustsForce
from gatesim.search.doubles.controller_untested_beam import UntestedBeam
from gatesim.search.doubles.controller_untested_force import UntestedForce
from gatesim.search.doubles.controller_without_read_back import WithoutReadBack
from gatesim.search.doubles.receiver_answers_itself import AnswersItself
from gatesim.search.doubles.receiver_any_identity import AnyIdentity
from gatesim.search.doubles.receiver_any_other_counter import AnyOtherCounter
from gatesim.search.doubles.receiver_counts_duplicates import CountsDuplicates
from gatesim.search.doubles.receiver_heartbeat import Heartbeat
from gatesim.search.doubles.receiver_last_writer import LastWriter
from gatesim.search.doubles.receiver_one_limit import OneLimit
from gatesim.search.doubles.receiver_one_shot import OneShot
from gatesim.search.doubles.receiver_sum_last import SumLast
from gatesim.search.doubles.receiver_waits import Waits

Noticed = Callable[[Whole, float], bool]
"""Whether the logic noticed: the run, and when the fault began."""


def _since(whole: Whole, begins: float, kind: type) -> list[Event]:
    return [one.event for one in whole.trace if type(one.event) is kind and one.at > begins]


def stopped(whole: Whole, begins: float) -> bool:
    """The order was taken back."""
    orders = [event.order for event in whole.all(OrdersChanged)]
    return any(before is not None and order is None for before, order in pairwise(orders))


def did_not_start(whole: Whole, begins: float) -> bool:
    """The start asked for was refused."""
    return not _since(whole, begins, LeafStarted) and bool(_since(whole, begins, CommandRefused))


def locked(whole: Whole, begins: float) -> bool:
    """Automatic motion ended up locked out."""
    return bool(whole.all(OrdersChanged)[-1].lockout is not Lockout.NONE)


def drive_locked(whole: Whole, begins: float) -> bool:
    """The drive is locked out, its main shut-off open."""
    last = whole.all(OrdersChanged)[-1]
    return bool(last.lockout is Lockout.DRIVE and not last.main)


def turned_back(whole: Whole, begins: float) -> bool:
    """The leaf was ordered back."""
    return any(event.order is Direction.OPENING for event in whole.all(OrdersChanged))


def said_pressed(whole: Whole, begins: float) -> bool:
    """An edge was taken for pressed."""
    return any(event.level is Level.PRESSED for event in _since(whole, begins, LevelChanged))


def announced(whole: Whole, begins: float) -> bool:
    """Something was announced about the device."""
    return any(event.device in ("pair", "nose", "tail") for event in _since(whole, begins, Announced))


def gentle(whole: Whole, begins: float) -> bool:
    """The contact peaked under 800 N."""
    peaks = [event.force for event in whole.all(ForcePeaked)]
    assert peaks
    return max(peaks) < 800_000


def stayed_after_power(whole: Whole, begins: float) -> bool:
    """Nothing was ordered by itself after the supply came back."""
    back = [one.at for one in whole.trace if type(one.event) is PowerReturned]
    assert back, "the supply was to come back"
    return not any(event.order for event in _since(whole, back[0] - 1, OrdersChanged))


class Case(NamedTuple):
    """A fault at a device, the double, what else happens, and what the reference does that the double does not."""

    kind: str
    device: str
    double: dict[str, type]
    noticed: Noticed
    also: Stimuli
    begins: int
    until: int
    ends: int | None = None
    more: tuple[Place, ...] = ()

    def run(self, roles: Roles, *, with_fault: bool = True) -> Whole:
        where = place(faults()[self.kind], SITE, self.device)
        stimuli = [self.also]
        if with_fault:
            stimuli += [at_place(where, self.begins, self.ends)]
            stimuli += [at_place(one, self.begins, None, f"more {k}") for k, one in enumerate(self.more)]
        return Whole(plant=build(SITE, roles)).play(together(*stimuli), self.until)


CLOSE = press(Command.CLOSE, S)
MOVING = int(3.02 * S)


def moving(
    kind: str, device: str, noticed: Noticed = stopped, until: int = 7 * S, more: tuple[Place, ...] = (), **double: type
) -> Case:
    """The fault begins while the leaf closes, and nothing else happens."""
    return Case(kind, device, double, noticed, CLOSE, MOVING, until, None, more)


def starting(kind: str, device: str, noticed: Noticed = did_not_start, at: int = 15 * S, **double: type) -> Case:
    """The fault begins at rest, and a start is asked for later."""
    return Case(kind, device, double, noticed, press(Command.CLOSE, at), 2 * S, at + 3 * S)


def meeting(
    kind: str, device: str, noticed: Noticed = turned_back, zone: str = "front", **double: type
) -> Case:
    """The leaf closes onto a block where an edge covers it."""
    block = {2 * S: (EnterObstruction("block", zone, 3.2e6, None, True),)}
    return Case(kind, device, double, noticed, dict(together(CLOSE, block)), 2 * S, 10 * S)


def _strip(edge: str, at: int, held: int) -> Stimuli:
    return {at: (PressStrip(edge),), at + held: (ReleaseStrip(edge),)}


TWICE = dict(together(press(Command.CLOSE, 15 * S), press(Command.CLOSE, 20 * S)))
"""The second of two starts is not refused because something has only just become good."""

OSCILLATES = 15_000
"""So that it reads the end of the range at scans with an odd number."""

SILENT = place(faults()["lost-link"], SITE, "pair")

CASES: tuple[Case, ...] = (
    moving("loop-open", "nose", classifier=LowOnly),
    moving("branch-broken", "sill", classifier=LowOnly),
    moving("corroded-joint", "nose", classifier=LowOnly),
    moving("wire-flapping", "nose", classifier=Forgives),
    moving("chatter", "nose", classifier=Forgives),
    moving("mains-hum", "nose", classifier=Averages),
    Case(
        "comparator-oscillates", "pair", {"classifier": EverySecond}, stopped, CLOSE, MOVING + OSCILLATES, 7 * S),
    moving("converter-stuck-bit", "pair", classifier=WithoutReference),
    Case("sense-rail-lost", "pair", {"controller": EdgeTriggered}, did_not_start, TWICE, 2 * S, 22 * S),
    moving("reference-drift", "pair", classifier=WithoutReference),
    moving("over-range-code", "nose", classifier=KeepsLast),
    moving("loops-crossed-short", "pair", classifier=NearZero),
    moving("water-in-profile", "nose", classifier=Slow),
    Case(
        "weak-contact",
        "nose",
        {"classifier": NearZero},
        stopped,
        dict(together(CLOSE, _strip("nose", 4 * S, S))),
        MOVING,
        7 * S,
    ),
    Case("leakage-slow", "nose", {"classifier": Follows}, said_pressed, {}, 2 * S, 100 * S),
    Case("loop-short", "nose", {"controller": EdgeTriggered}, did_not_start, TWICE, 2 * S, 22 * S),
    Case("strip-bridged", "nose", {"controller": EdgeTriggered}, did_not_start, TWICE, 2 * S, 22 * S),
    Case(
        "stays-pressed",
        "nose",
        {"controller": EdgeTriggered},
        did_not_start,
        dict(together(_strip("nose", 3 * S, S), TWICE)),
        2 * S,
        22 * S,
    ),
    # The edge is blind: what is left is the other means.
    meeting("resistor-at-near-end", "nose", controller=TrustsEdges),
    meeting("edge-frozen-stiff", "nose", controller=TrustsEdges),
    meeting("edge-torn-loose", "nose", controller=TrustsEdges),
    meeting("strip-stays-closed", "lip", zone="front lip", controller=TrustsEdges),
    meeting("converter-frozen", "pair", controller=TrustsEdges),
    meeting("multiplexer-stuck", "pair", controller=TrustsEdges),
    meeting("masquerade", "pair", controller=TrustsEdges),
    meeting("force-sensing-mute", "force sensing", controller=TrustsForce),
    Case(
        "force-transducer-low",
        "force sensing",
        {"controller": TrustsForce},
        gentle,
        dict(together(CLOSE, {2 * S: (EnterObstruction("block", "front", 3.2e6, 3.0, True),)})),
        2 * S,
        10 * S,
    ),
    # Cell and link.
    starting("cell-low", "pair", announced, controller=LowIsALamp),
    moving("cell-critical", "pair", controller=CriticalIsALamp),
    moving("cell-sag-cold", "pair", classifier=BatteryAtRest),
    moving("cell-dead", "pair", receiver=Waits),
    moving("lost-link", "pair", receiver=Waits),
    moving("channel-busy", "radio channel", receiver=Waits),
    moving("burst-loss", "pair", until=int(4.3 * S), receiver=Waits),
    moving("check-in-clock-slow", "pair", receiver=OneLimit),
    moving("frames-repeated", "pair", receiver=CountsDuplicates),
    moving("frame-corrupted", "pair", receiver=SumLast),
    moving("sampler-dead", "pair", receiver=Heartbeat),
    moving("transmitter-unpaired", "pair", receiver=AnyIdentity),
    moving("foreign-frames-inserted", "pair", more=(SILENT,), receiver=AnyIdentity),
    moving("identity-doubled", "pair", receiver=LastWriter),
    moving("transmitter-restarts", "pair", receiver=LastWriter),
    starting("motion-untold", "pair", stopped, 5 * S, receiver=OneLimit),
    starting("motion-sense-stuck", "lone", stopped, 5 * S, receiver=OneLimit),
    starting("frames-delayed", "pair", receiver=AnswersItself),
    starting("downlink-cut", "pair", receiver=AnswersItself),
    Case(
        "event-lost-check-ins-pass",
        "pair",
        {"receiver": OneShot},
        stopped,
        dict(together(CLOSE, _strip("nose", 4 * S, S))),
        MOVING,
        6 * S,
    ),
    Case(
        "wired-scan-dead",
        "input",
        {"controller": SkipsTests},
        did_not_start,
        dict(together(CLOSE, press(Command.STOP, 4 * S), press(Command.OPEN, 8 * S))),
        6 * S,
        11 * S,
    ),
    starting("report-frozen", "nose", controller=SkipsTests),
    starting("test-request-lost", "test request", controller=SkipsTests),
    moving("receiver-dead", "receiver", controller=BelievesReports),
    # Beams.
    starting("beam-output-stuck-clear", "ray", controller=UntestedBeam),
    starting("beam-test-pulse-ignored", "ray", controller=UntestedBeam),
    starting("beam-dazzled", "ray", controller=UntestedBeam),
    starting("beam-cross-talk", "ray", controller=UntestedBeam),
    moving("beam-output-stuck-interrupted", "ray", controller=IgnoresBeams),
    moving("beam-emitter-dead", "ray", controller=IgnoresBeams),
    # Supply.
    Case("supply-dip", "supply", {"controller": Resumes}, stayed_after_power, CLOSE, MOVING, 7 * S),
    Case(
        "supply-weak",
        "supply",
        {"controller": Resumes},
        stayed_after_power,
        dict(together(CLOSE, _strip("nose", 4 * S, S))),
        MOVING,
        9 * S,
    ),
    # Drive.
    Case(
        "contactor-welded",
        "closing",
        {"controller": OneCutOff},
        drive_locked,
        dict(together(CLOSE, press(Command.STOP, 4 * S))),
        MOVING,
        7 * S,
    ),
    Case(
        "main-shut-off-welded",
        "main shut-off",
        {"controller": WithoutReadBack},
        locked,
        dict(together(CLOSE, press(Command.STOP, 4 * S), press(Command.CLOSE, 6 * S))),
        MOVING,
        8 * S,
    ),
    Case(
        "main-read-back-stuck",
        "main shut-off",
        {"controller": WithoutReadBack},
        locked,
        dict(together(CLOSE, press(Command.STOP, 4 * S), press(Command.CLOSE, 6 * S))),
        MOVING,
        8 * S,
    ),
    moving("contactor-read-back-stuck", "closing", locked, controller=WithoutReadBack),
    starting("contactor-stays-open", "closing", drive_locked, 5 * S, controller=BelievesOrder),
    starting("main-shut-off-stays-open", "main shut-off", drive_locked, 5 * S, controller=BelievesOrder),
    starting("drive-direction-swapped", "drive", drive_locked, 5 * S, controller=BelievesOrder),
    moving("travel-sensor-frozen", "travel sensor", locked, controller=BelievesOrder),
    Case("limit-switch-stuck-open", "closed", {"controller": BelievesOrder}, drive_locked, CLOSE, MOVING, 25 * S),
    moving("limit-switch-stuck-closed", "open", drive_locked, 20 * S, controller=BelievesLimit),
    Case(
        "brake-coasting",
        "brake",
        {"controller": BelievesStop},
        drive_locked,
        dict(together(CLOSE, press(Command.STOP, 5 * S))),
        MOVING,
        9 * S,
    ),
    starting("force-sensing-dead", "force sensing", controller=UntestedForce),
    starting("force-trip-stuck", "force sensing", controller=ForgetsTrip),
    # Controls and store.
    Case(
        "button-stuck",
        "hold close wired in view",
        {"controller": BelievesLevel},
        stayed_after_power,
        {6 * S: (LosePower(),), 7 * S: (ReturnPower(),)},
        4 * S,
        9 * S,
    ),
    Case(
        "reset-stuck",
        "reset",
        {"controller": LevelReset},
        locked,
        dict(together(CLOSE, at_place(place(faults()["loop-open"], SITE, "nose"), 3 * S, 8 * S, "other"))),
        10 * S,
        12 * S,
    ),
    Case(
        "store-corrupted",
        "store",
        {"controller": CleanSlate},
        locked,
        dict(
            together(
                CLOSE,
                at_place(place(faults()["loop-open"], SITE, "nose"), 3 * S, 8 * S, "other"),
                {10 * S: (LosePower(),), 11 * S: (ReturnPower(),)},
            )
        ),
        9 * S,
        13 * S,
    ),
)

BEYOND_LOGIC = {
    "wrong-termination": "inside the band nothing tells the value fitted from the value on record",
    "margin-lowered": "a frame that comes tells no margin; silence that outlasts the watchdog is a lost link",
    "latency-high": "frames carry no time, so their age within the limit can't be seen",
    "one-way-frames-delayed": "what can't be asked can't prove its age",
    "queue-backlog": "told apart from frames-delayed by its growth only; the same check answers it at a start",
    "travel-sensor-slipping": "each limit switch sets the count right, and no role is told by how much",
    "stop-dead": "an open contact that should close looks like a control at rest",
    "sounder-dead": "the reference does not look at the sounder's read-back",
    "store-write-lost": "no role reads back what it wrote before the next power-up",
    "frames-reordered": "tested frame by frame below",
}


def named(case: Case) -> str:
    return f"{case.kind}-{next(iter(case.double.values())).__name__}"


@pytest.mark.parametrize("case", CASES, ids=named)
def test_the_reference_notices_and_the_double_does_not(case: Case) -> None:
    reference = case.run(references())
    assert case.noticed(reference, case.begins), "the reference is to notice"
    double = case.run(references(**{role: made() for role, made in case.double.items()}))
    assert not case.noticed(double, case.begins), "the double is not to notice"


QUIET = [
    case
    for case in CASES
    if case.noticed in (stopped, did_not_start, locked, drive_locked)
    and case.until <= 20 * S
    and case.also in (CLOSE, press(Command.CLOSE, 15 * S), press(Command.CLOSE, 5 * S))
]


@pytest.mark.parametrize("case", QUIET, ids=named)
def test_without_the_fault_neither_notices_anything(case: Case) -> None:
    for roles in (references(), references(**{role: made() for role, made in case.double.items()})):
        healthy = case.run(roles, with_fault=False)
        assert healthy.all(LeafStarted)
        assert not case.noticed(healthy, case.begins)


def test_force_sensing_alone_is_gentle_while_its_transducer_is_right() -> None:
    case = next(case for case in CASES if case.noticed is gentle)
    assert gentle(case.run(references(controller=TrustsForce()), with_fault=False), case.begins)


def test_every_kind_is_either_tried_or_named_as_beyond_logic() -> None:
    tried = {case.kind for case in CASES}
    assert tried | set(BEYOND_LOGIC) == set(faults())
    assert not tried & set(BEYOND_LOGIC)
    residual = (FoundBy.PRESS_TEST, FoundBy.NEVER)
    assert all(faults()[kind].found in residual for kind in BEYOND_LOGIC if kind != "queue-backlog")


@pytest.mark.parametrize(("made", "level"), [(ReferenceReceiver, Level.PRESSED), (AnyOtherCounter, Level.REST)])
def test_an_overtaken_frame_does_not_hide_the_newer_one(made: type[ReferenceReceiver], level: Level) -> None:
    """frames-reordered: the press comes first, the older frame at rest right after it."""
    fault, role = faults()["frames-reordered"], made()
    state = fault.initial()
    assert SITE.receiver is not None
    memory, _ = role.start(ReceiverSettings(paired(SITE), 35 * S, S, 8), None)
    heard = [frame(0), *fault.relays(state, frame(1), 0), *fault.relays(state, frame(2, Level.PRESSED, Level.REST), 0)]
    assert [one.counter for one in heard] == [40, 42, 41]
    memory, do = role.step(memory, ReceiverSeen(tuple(heard), False, 0), 0)
    assert do.reports[0].level is level
