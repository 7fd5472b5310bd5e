"""One contract for all logic.

Three roles of one shape: the transmitter's *classifier*, the *receiver* with its watchdog, the operator *controller*.

    start(settings, kept) -> (state, Do)        at power-up; `kept` is what the store held, or None
    step(state, seen, now) -> (state, Do)       when the image changed, and at the wake it asked for

`seen` is a frozen process image of levels and flags; edges of signals are the logic's business.  `Do` is the full set
of
outputs, the next wake (an instant, or None) and reasons.  State is copyable data; logic has no clock, no I/O
and no object of ours in reach.  `step` may change the state it was given and return it.

Instants are microseconds since the run began; a power loss does not set them back, but logic must not rely on that.
"""

from __future__ import annotations

from enum import Enum
from typing import Any, NamedTuple, Protocol

from gatesim.events import Brake, Command, Direction, LeafName, Level, Lockout, Origin

# --- the classifier: from converter codes to levels -----------------------------------------------------------------


class EdgeBand(NamedTuple):
    """What a classifier is told about one loop: thresholds as converter codes.

    code < low: pressed; low..high: at rest; high < code < open_above: above band; code >= open_above: open.
    Where a press `opens` the strip: code > high: pressed; code < low: invalid, for nothing in the loop explains it.
    Edges that share a loop have one band between them, under the name of the edge that has the loop.
    """

    edge: str
    low: int
    high: int
    open_above: int
    opens: bool = False


class ClassifierSettings(NamedTuple):
    """Settings of a classifier.

    `debounce` and `fault_debounce` count equal samples in a row; `reference` is the code that the converter's own
    reference channel must read within `reference_slack`; `chatter_limit` and `chatter_window`: so many samples off
    rest, leaking one per sample at rest, are a fault although none lasted.  Loaded cell voltages in mV, None
    where the node has no cell.
    """

    bands: tuple[EdgeBand, ...]
    sampling: int
    debounce: int
    fault_debounce: int
    reference: int
    reference_slack: int
    chatter_limit: int
    low_mv: float | None
    critical_mv: float | None


class ClassifierSeen(NamedTuple):
    """One scan: a code per loop, the reference channel's code, the scan's number, the loaded cell voltage."""

    codes: tuple[int, ...]
    reference: int
    sample: int
    cell_mv: float | None


class ClassifierDo(NamedTuple):
    """A level per loop (told for every edge on it) and the battery flags; `again` asks for the next scan although
    nothing changes."""

    levels: tuple[Level, ...]
    low: bool
    critical: bool
    again: bool
    why: tuple[str, ...] = ()


class Classifier(Protocol):
    """The classifier role.  `start(settings, kept) -> (state, Do)`, `step(state, seen, now) -> (state, Do)`."""

    def start(self, settings: ClassifierSettings, kept: bytes | None) -> tuple[Any, ClassifierDo]: ...

    def step(self, state: Any, seen: ClassifierSeen, now: float) -> tuple[Any, ClassifierDo]: ...


# --- the receiver: from frames to reports -------------------------------------------------------------------------


class Frame(NamedTuple):
    """What a transmitter sends.  `samples` counts scans, `levels` has one per loop, `answer` echoes the last
    request heard (0: none).  `sound` is what the check sum says."""

    sender: int
    session: int
    counter: int
    samples: int
    levels: tuple[Level, ...]
    low: bool
    critical: bool
    answer: int
    sound: bool = True


class Paired(NamedTuple):
    """One paired transmitter as the receiver knows it; `edges` in the order of the frame's levels."""

    transmitter: str
    identity: int
    edges: tuple[str, ...]
    asked: bool


class ReceiverSettings(NamedTuple):
    """Settings of a receiver; durations in us."""

    paired: tuple[Paired, ...]
    watchdog_at_rest: int
    watchdog_in_motion: int
    counter_bits: int


class ReceiverSeen(NamedTuple):
    """Frames heard since the last call (in order of arrival), whether the gate is ordered to move, and the number of
    the controller's latest test request (0: none yet)."""

    frames: tuple[Frame, ...]
    moving: bool
    ask: int


class Report(NamedTuple):
    """What the receiver (or a wired input, or a beam's input) tells the controller about one edge or beam.

    `heard`: at least one good frame since power-up; `fresh`: a good frame within the watchdog; `answered`: number of
    the
    latest test request that the device answered with a scan made after it; `asked`: whether it can be asked at all.
    A beam's level is at rest, interrupted, or, once it has failed its test, invalid; it answers with a test passed.
    """

    edge: str
    level: Level
    heard: bool
    fresh: bool
    low: bool
    critical: bool
    answered: int
    asked: bool = True


class ReceiverDo(NamedTuple):
    """A report per edge; `tell` is what the receiver sends to its transmitters: (transmitter, moving, ask)."""

    reports: tuple[Report, ...]
    tell: tuple[tuple[str, bool, int], ...]
    wake: float | None
    why: tuple[str, ...] = ()


class Receiver(Protocol):
    """The receiver role, of the same shape."""

    def start(self, settings: ReceiverSettings, kept: bytes | None) -> tuple[Any, ReceiverDo]: ...

    def step(self, state: Any, seen: ReceiverSeen, now: float) -> tuple[Any, ReceiverDo]: ...


# --- the operator controller ---------------------------------------------------------------------------------------


class Kind(Enum):
    """What a device is that guards a direction."""

    EDGE = "monitored edge"
    BEAM = "presence beam"


class GuardedEdge(NamedTuple):
    """An edge, or a device of another kind, as the controller knows it."""

    edge: str
    direction: Direction
    channel: str
    """The transmitter or wired input it hangs on: what one lost link takes away together."""
    kind: Kind = Kind.EDGE
    leaf: LeafName | None = LeafName.FIRST
    """The leaf that it guards, where one controller moves two; None: both (a beam across both)."""


class ControllerSettings(NamedTuple):
    """Settings of an operator controller, from the site file.  Durations in us, distances in um.

    The meaning of each is in docs/timing.md under the same name.
    """

    edges: tuple[GuardedEdge, ...]
    travel: float
    reversal_distance: float
    opening_relief: float
    second_demand_relief: float
    reversal_dwell: int
    test_time: int
    start_limit: int
    stop_limit: int
    travel_time_opening: int
    travel_time_closing: int
    press_limit: int
    recovery_time: int
    reset_window: int
    alarm_time: int
    automatic_closing: int | None
    closing_warning: int
    fault_locks_both: bool
    count_cleared_at_any_end: bool
    faults_a_day: int


class ControllerSeen(NamedTuple):
    """The process image.

    `position` is measured from the closed end (`position_known` False: only differences of it mean anything, since a
    power-up) and is a value, not a level: a change of it alone causes no call; ask with `watch`.  `motion` is what the
    travel sensor sees.  `supply_good` is False only to a controller that can't be started anew: it has a supply of its
    own, and goes on while the operator has none.
    """

    controls: frozenset[tuple[Command, Origin]]
    at_closed: bool
    at_open: bool
    reports: tuple[Report, ...]
    force: bool
    force_ready: bool
    position: float
    position_known: bool
    motion: Direction | None
    opening_contactor: bool
    closing_contactor: bool
    main_closed: bool
    sounder: bool
    supply_good: bool = True


class ControllerDo(NamedTuple):
    """Everything the controller puts out.

    `ask` numbers test requests upward; `watch` is a measured position at whose crossing to be called; `keep` is
    what the store must hold through a power loss; `mode` is for people; `notices` are (text, device) announced and
    `refused` (command, origin, reason, device) commands refused by this very step.
    """

    order: Direction | None
    slow: bool
    main: bool
    brake: Brake
    alarm: bool
    lockout: Lockout
    armed: bool
    mode: str
    ask: int
    watch: float | None
    wake: float | None
    keep: bytes
    notices: tuple[tuple[str, str], ...] = ()
    refused: tuple[tuple[Command, Origin, str, str], ...] = ()
    tested: tuple[tuple[Direction, bool], ...] = ()


class Controller(Protocol):
    """The controller role, of the same shape."""

    def start(self, settings: ControllerSettings, kept: bytes | None) -> tuple[Any, ControllerDo]: ...

    def step(self, state: Any, seen: ControllerSeen, now: float) -> tuple[Any, ControllerDo]: ...


class Roles(NamedTuple):
    """The logic that a plant is built with."""

    classifier: Classifier
    receiver: Receiver
    controller: Controller
