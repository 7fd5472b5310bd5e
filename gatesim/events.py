"""What comes from outside (stimuli) and what happened (events).

A `Stimulus` is an imperative fact of the scenario's timeline; an `Event` is past tense and is all that a
requirement ever sees.  Both are immutable.  Events carry unrounded instants' worth of physics as plain numbers in
the units of `gatesim.units`; `trace.py` rounds them once.  An event kind of one device alone stands in that
device's file; those here are common.
"""

from __future__ import annotations

from enum import Enum
from typing import Any, NamedTuple


class Direction(Enum):
    """A direction of the leaf; positions count from 0 (closed) to the travel (open)."""

    OPENING = "opening"
    CLOSING = "closing"

    @property
    def sign(self) -> int:
        return 1 if self is Direction.OPENING else -1

    @property
    def other(self) -> Direction:
        return Direction.CLOSING if self is Direction.OPENING else Direction.OPENING


class Command(Enum):
    """What a control asks for.  `HOLD_…` are the hold-to-run controls."""

    OPEN = "open"
    CLOSE = "close"
    STOP = "stop"
    HOLD_OPEN = "hold open"
    HOLD_CLOSE = "hold close"
    RESET = "reset"
    PAIR = "pair"
    SILENCE = "silence"


class Origin(Enum):
    """Where a command comes from."""

    WIRED = "wired in view"
    RADIO = "portable radio"
    AUTOMATIC = "automatic"


class Level(Enum):
    """What a classifier makes of a loop's reading (the worst wins), or an input of a beam's output.

    Only a beam is *interrupted*; logic that knows no beams must take it for a level unknown, which is a fault.
    """

    REST = "at rest"
    PRESSED = "pressed"
    INTERRUPTED = "interrupted"
    HIGH = "above band"
    OPEN = "open"
    INVALID = "reading invalid"


class FoundBy(Enum):
    """How a fault kind can be found at all.  The last two are residual risk, never a pass."""

    CONTINUOUSLY = "continuously"
    NEXT_CHECK_IN = "by the next check-in"
    NEXT_START = "at the next start"
    PRESS_TEST = "only by a press test"
    NEVER = "never"


class Guard(Enum):
    """Whether a disturbed wire belongs to a device that guards a direction, or to the drive itself."""

    OPENING = "opening"
    CLOSING = "closing"
    BOTH = "both"
    DRIVE = "drive"


class Lockout(Enum):
    """Which automatic motion is locked out."""

    NONE = "none"
    OPENING = "opening"
    CLOSING = "closing"
    BOTH = "both directions"
    ENTRAPMENT = "entrapment"
    DRIVE = "drive"

    def bars(self, direction: Direction) -> bool:
        """Whether automatic motion in this direction is barred."""
        return self is not Lockout.NONE and self.value != direction.other.value


class Brake(Enum):
    """What holds the leaf when the drive does not turn."""

    HOLD = "hold"
    RELEASE = "release"


class Side(Enum):
    """A loop or limit side of the travel."""

    CLOSED = "closed"
    OPEN = "open"


class LeafName(Enum):
    """Which leaf: the only one of a site is the first."""

    FIRST = "first"
    SECOND = "second"

    @property
    def other(self) -> LeafName:
        """The other leaf."""
        return LeafName.SECOND if self is LeafName.FIRST else LeafName.FIRST

    @property
    def of(self) -> str:
        """What the leaf's wires are named by: nothing for the first."""
        return "" if self is LeafName.FIRST else self.value


class Run(Enum):
    """Which run an event belongs to: the whole one, or a twin in which the other means is held silent."""

    WHOLE = "whole run"
    EDGE_ALONE = "edge alone"
    FORCE_ALONE = "force alone"


# --- stimuli ---------------------------------------------------------------------------------------------------


Stimulus = tuple[Any, ...]
"""Any of the named tuples at the end of this file, or a device's own: a `device` field says to whom ("" where a site
has
one)."""


# --- events ----------------------------------------------------------------------------------------------------


class CommandPressed(NamedTuple):
    """A control was pressed."""

    command: Command
    origin: Origin


class CommandReleased(NamedTuple):
    """A control was released."""

    command: Command
    origin: Origin


class PowerLost(NamedTuple):
    """The operator's supply went away."""


class PowerReturned(NamedTuple):
    """The operator's supply is back."""


class WireDisturbed(NamedTuple):
    """What passes on a wire is not what was sent, from this instant on (a physical fact; its cause is nobody's
    business).  For a radio path: the instant it is cut."""

    wire: str
    device: str
    guard: Guard
    found: FoundBy


class WireRestored(NamedTuple):
    """The wire carries again what is sent."""

    wire: str
    device: str


class MotionChanged(NamedTuple):
    """The leaf's motion from now on, until the next such event: x + v dt + a dt^2 / 2."""

    x: float
    v: float
    a: float
    direction: Direction | None
    leaf: LeafName = LeafName.FIRST


class LeafStopped(NamedTuple):
    """The leaf came to rest."""

    x: float
    leaf: LeafName = LeafName.FIRST


class LeafStarted(NamedTuple):
    """The leaf's speed first has this sign."""

    direction: Direction
    x: float
    leaf: LeafName = LeafName.FIRST


class LeafPushed(NamedTuple):
    """The leaf is moved from outside, by hand or wind."""

    direction: Direction
    by: str
    leaf: LeafName = LeafName.FIRST


class ContactBegan(NamedTuple):
    """First touch of the leaf (its edge, if one covers the place) and an obstruction; `edge` is "" where none."""

    obstruction: str
    direction: Direction
    edge: str
    x: float
    overtravel: float
    blind: bool
    leaf: LeafName = LeafName.FIRST


class ContactEnded(NamedTuple):
    """The leaf no longer touches the obstruction."""

    obstruction: str
    direction: Direction
    leaf: LeafName = LeafName.FIRST


class EdgeActuated(NamedTuple):
    """The strip's contact closed (travel since touch reached the actuating travel, or a hand pressed it)."""

    edge: str
    direction: Direction
    x: float
    leaf: LeafName = LeafName.FIRST


class EdgeReleased(NamedTuple):
    """The strip's contact opened again."""

    edge: str
    direction: Direction
    leaf: LeafName = LeafName.FIRST


class ForceRose(NamedTuple):
    """The contact force passed a level upward (mN)."""

    obstruction: str
    level: float
    leaf: LeafName = LeafName.FIRST


class ForceFell(NamedTuple):
    """The contact force passed a level downward (mN)."""

    obstruction: str
    level: float
    leaf: LeafName = LeafName.FIRST


class ForcePeaked(NamedTuple):
    """The contact force had a local maximum (mN)."""

    obstruction: str
    direction: Direction
    force: float
    gap: float
    leaf: LeafName = LeafName.FIRST


class ForceTripped(NamedTuple):
    """The force sensing's output came."""

    direction: Direction
    leaf: LeafName = LeafName.FIRST


class ForceCleared(NamedTuple):
    """The force sensing's output went."""

    leaf: LeafName = LeafName.FIRST


class LimitReached(NamedTuple):
    """A limit switch closed, physically."""

    side: Side
    leaf: LeafName = LeafName.FIRST


class LimitLeft(NamedTuple):
    """A limit switch opened, physically."""

    side: Side
    leaf: LeafName = LeafName.FIRST


class ContactorsChanged(NamedTuple):
    """Which directions are energised, physically."""

    opening: bool
    closing: bool
    leaf: LeafName = LeafName.FIRST


class MainChanged(NamedTuple):
    """The main shut-off, physically."""

    closed: bool


class LoopChanged(NamedTuple):
    """An edge's loop resistance as it stands at the converter's terminals (ohm)."""

    edge: str
    ohm: float


class LevelChanged(NamedTuple):
    """A transmitter's (or wired input's) classifier took over a level."""

    edge: str
    level: Level


class FrameSent(NamedTuple):
    """A transmitter sent a frame."""

    transmitter: str
    counter: int
    samples: int
    levels: tuple[Level, ...]
    why: str


class FrameArrived(NamedTuple):
    """A frame reached the receiver's antenna side (accepted or not)."""

    transmitter: str
    counter: int


class BatteryFlagged(NamedTuple):
    """A transmitter's own battery supervision raised a flag ("low" or "critical")."""

    transmitter: str
    flag: str


class CellFell(NamedTuple):
    """The cell's loaded voltage physically fell under the "low" or "critical" figure."""

    transmitter: str
    figure: str


class CellRenewed(NamedTuple):
    """A fresh cell was fitted in a transmitter, physically."""

    transmitter: str


class BeamInterrupted(NamedTuple):
    """Something stands in a beam's ray, physically; `direction` is that of the motion which the beam guards."""

    beam: str
    direction: Direction
    by: str


class BeamCleared(NamedTuple):
    """Nothing stands in the ray any more."""

    beam: str
    direction: Direction


class BeamTested(NamedTuple):
    """A test pulse is over: the output opened and closed again in time, or it did not.

    Of the tests that no start asked for, those are told that end otherwise than the one before.
    """

    beam: str
    passed: bool


class ReportChanged(NamedTuple):
    """What the receiver (or a wired input, or a beam's input) tells the controller about an edge or a beam."""

    edge: str
    level: Level
    heard: bool
    fresh: bool
    low: bool
    critical: bool


class OrdersChanged(NamedTuple):
    """The controller's outputs."""

    order: Direction | None
    slow: bool
    main: bool
    brake: Brake
    alarm: bool
    lockout: Lockout
    armed: bool
    mode: str


class Announced(NamedTuple):
    """A warning or note the controller gave (battery low at a move, motion warning, fault logged)."""

    notice: str
    device: str


class CommandRefused(NamedTuple):
    """The controller refused a start or a reset."""

    command: Command
    origin: Origin
    reason: str
    device: str


class StartTested(NamedTuple):
    """The controller finished the test before a move."""

    direction: Direction
    passed: bool


class StoreWritten(NamedTuple):
    """What the controller wanted kept is in the non-volatile store."""

    lockout: Lockout


class SounderChanged(NamedTuple):
    """The alarm, physically."""

    sounding: bool


Event = tuple[Any, ...]
"""Any of the named tuples above, or one that a device's own file declares.  Where a trace says no `leaf`, it is the
first."""


class Stamped(NamedTuple):
    """An event and its instant (microseconds)."""

    at: float
    event: Event


# --- the stimuli a site's parts take -------------------------------------------------------------------------------


class PressControl(NamedTuple):
    """A control is pressed (taken by the panel)."""

    command: Command
    origin: Origin
    device: str = ""


class ReleaseControl(NamedTuple):
    """A control is released."""

    command: Command
    origin: Origin
    device: str = ""


class EnterObstruction(NamedTuple):
    """An obstruction enters a zone (taken by the obstructions)."""

    obstruction: str
    zone: str
    position: float
    stiffness: float | None
    edge: bool
    """Whether it is where the zone's edge covers the leaf."""
    device: str = ""
    mass: float | None = None
    """Of one that stands free and is pushed along (kg); None: it stands fast."""


class LeaveObstruction(NamedTuple):
    """An obstruction leaves."""

    obstruction: str
    device: str = ""


class PressStrip(NamedTuple):
    """A hand presses an edge (taken by the strip of that edge)."""

    device: str


class ReleaseStrip(NamedTuple):
    """The hand lets go."""

    device: str


class InterruptBeam(NamedTuple):
    """Something comes into a beam's ray (taken by the ray of that beam)."""

    by: str
    device: str


class ClearBeam(NamedTuple):
    """It leaves the ray."""

    by: str
    device: str


class LosePower(NamedTuple):
    """The supply goes away (taken by the supply)."""

    device: str = ""


class ReturnPower(NamedTuple):
    """The supply comes back."""

    device: str = ""


class PushLeaf(NamedTuple):
    """The leaf is moved from outside (taken by the leaf)."""

    direction: Direction
    distance: float
    speed: float
    by: str
    device: str = ""


class FitCell(NamedTuple):
    """A fresh cell is fitted (taken by the cell of that transmitter)."""

    device: str
