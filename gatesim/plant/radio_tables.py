"""The tables of a site file that describe the air: link budget, bursts of loss, clocks, the radio rule set.

All of it is optional: a site without it has the plain `loss` of its transmitters, and clocks without error.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from gatesim.events import Direction
from gatesim.units import ClockError, Duration, Frequency, Gain, Length, Level, Share, Temperature


class JitterReading(Enum):
    """What the next check-in counts from."""

    GRID = "absolute grid"
    ADDS_UP = "accumulating"


class RadioRule(Enum):
    """The radio rule set that a site says it follows (in the manner of the clause; figures in radio_rules.py)."""

    ACTIVATED = "47 CFR 15.231(a)"
    PERIODIC = "47 CFR 15.231(e)"
    OWN = "own"


@dataclass(frozen=True, slots=True)
class OwnRule:
    """A radio rule set given by the site, with its source."""

    source: str
    """Where the figures come from (document and clause)."""
    air_time: Duration
    """Time on air that is allowed in each window."""
    window: Duration = 3_600_000_000
    """Time over which the air time is summed."""
    longest_transmission: Duration | None = None
    """Of one transmission; absent: no limit."""
    silence_factor: int = 0
    """After a transmission the transmitter is silent for so many times its length."""
    least_silence: Duration = 0
    """And at least for this long."""


@dataclass(frozen=True, slots=True)
class Obstacle:
    """Something in the radio path while the leaf is on a stretch of its travel.

    It has exactly one of `loss`, `height` and `gap`; the last two need `from_receiver`.
    """

    name: str
    """What the plan calls it."""
    start: Length
    """Leaf position at which it begins to stand in the path."""
    end: Length
    """Leaf position at which it no longer does."""
    loss: Gain | None = None
    """What it takes, as measured or from a table."""
    height: Length | None = None
    """Of its top above ground: a knife edge from below."""
    gap: Length | None = None
    """From the straight line to its edge, beside the line (a post): a knife edge that stays this far clear."""
    from_receiver: Length | None = None
    """Its horizontal distance from the receiver's antenna."""


@dataclass(frozen=True, slots=True)
class LossPoint:
    """A point of the line from margin to frame loss; straight between points, level beyond the first and last."""

    margin: Gain
    """Level above the receiver's sensitivity."""
    loss: Share
    """Of frames, at this margin."""


@dataclass(frozen=True, slots=True)
class Interference:
    """A time in which another user of the band lowers the margin."""

    name: str
    """What the plan calls it."""
    begins: Duration
    """Since the start of the run."""
    lasts: Duration
    """From its beginning to its end."""
    takes: Gain
    """How far it lowers the margin."""
    every: Duration | None = None
    """Comes again after this; absent: comes once."""


@dataclass(frozen=True, slots=True)
class Radio:
    """The link budget of a transmitter: its margin along the travel, and the loss of frames that follows from it."""

    frequency: Frequency
    """Of the carrier."""
    transmit_power: Level
    """At the transmitter's antenna."""
    sensitivity: Level
    """Of the receiver: the level from which the margin counts."""
    transmitter_height: Length
    """Of its antenna above ground."""
    receiver_height: Length
    """Of its antenna above ground."""
    receiver_lies: Direction
    """Which way of travel the receiver lies, seen from the transmitter with the gate closed."""
    receiver_along: Length
    """How far that way, along the travel, with the gate closed."""
    receiver_aside: Length
    """And how far beside the travel."""
    losses: tuple[LossPoint, ...]
    """From margin to frame loss, margins rising.  Measured, or from the papers of the radio; fading is in them."""
    transmitter_gain: Gain = 0.0
    """Of its antenna, as fitted on the leaf."""
    receiver_gain: Gain = 0.0
    """Of its antenna."""
    ground_reflection: Share = 1.0
    """Size of the ground's reflection factor, whose sign is minus; 100 % is the grazing case, 0 % leaves free space."""
    fade_margin: Gain = 10.0
    """The margin that the site wants to keep everywhere on the travel."""
    obstacles: tuple[Obstacle, ...] = ()
    """What stands in the path."""
    interference: tuple[Interference, ...] = ()
    """When others lower the margin."""


@dataclass(frozen=True, slots=True)
class Bursts:
    """Loss in bursts: a path that is good or bad (two states), and begins good.

    Either `good_to_bad` and `bad_to_good`, the chances of a change before each frame, or `mean_good` and `mean_bad`,
    the mean times that a state lasts.
    """

    loss_in_good: Share = 0.0
    """Of frames, in the good state."""
    loss_in_bad: Share = 1.0
    """Of frames, in the bad state."""
    good_to_bad: Share | None = None
    """Chance of the change before each frame."""
    bad_to_good: Share | None = None
    """Chance of the change before each frame."""
    mean_good: Duration | None = None
    """How long the good state lasts in the mean."""
    mean_bad: Duration | None = None
    """How long the bad state lasts in the mean."""


@dataclass(frozen=True, slots=True)
class ClockPoint:
    """A point of a clock's error over temperature; straight between points, level beyond the first and last."""

    at: Temperature
    """Temperature of the point."""
    error: ClockError
    """Error there."""


@dataclass(frozen=True, slots=True)
class Clock:
    """The error of a device's own clock: positive where it runs slow, so that its periods and limits are longer.

    A run uses the sum as it stands, at its temperature (the site's `temperature`, or `coldest`); sums and warnings use
    its greatest size, either way.
    """

    error: ClockError = 0.0
    """Error at every temperature."""
    temperatures: tuple[ClockPoint, ...] = ()
    """Error that comes on top at a temperature, temperatures rising."""
    low_battery: ClockError = 0.0
    """Error that comes on top while the loaded cell is below its low voltage (transmitters; check-ins only)."""
