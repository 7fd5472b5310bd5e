"""A scenario: one story told to one site, and what is expected of it.

Plain frozen values.  A step is one of the tagged kinds below; its `do` in the file is the class's `do`.  `expand`
in `agenda.py` turns steps into stimuli with their instants.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Literal

from gatesim.events import Command, Direction, LeafName, Origin
from gatesim.plant.site import Site
from gatesim.units import Duration, Length, Mass, Speed, Stiffness


class Expected(Enum):
    """What a scenario may expect of a requirement."""

    PASS = "pass"
    FAIL = "fail"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """Base: when, and how often."""

    at: Duration
    every: Duration | None = None
    """Repeat with this period..."""
    times: int = 1
    """... so many times in all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GiveCommand(Step):
    """A control is pressed and released."""

    do: Literal["command"]
    command: Command
    origin: Origin = Origin.WIRED
    held: Duration = 300_000


class Touches(Enum):
    """What of the leaf meets the obstruction."""

    EDGE = "the edge"
    LEAF = "the leaf beyond the edge"


class Stands(Enum):
    """How an obstruction stands."""

    FAST = "fast"
    FREE = "free"


@dataclass(frozen=True, slots=True, kw_only=True)
class Obstruct(Step):
    """An obstruction enters a zone; the leaf meets it at this position."""

    do: Literal["obstruct"]
    obstruction: str
    zone: str
    position: Length
    stiffness: Stiffness | None = None
    """Of a yielding obstruction; absent: rigid."""
    touches: Touches = Touches.EDGE
    stays: Duration | None = None
    """Leaves by itself after this; absent: stays until cleared."""
    stands: Stands = Stands.FAST
    """Held fast, or free to be pushed along: then it softens the impact.  The way that it yields before the impact is
    left out, so forces are upper bounds."""
    mass: Mass | None = None
    """Of one that stands free."""
    interrupts: tuple[str, ...] = ()
    """Names of the beams in whose rays it stands as well, as long as it is there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Clear(Step):
    """An obstruction leaves."""

    do: Literal["clear"]
    obstruction: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Interrupt(Step):
    """Something comes into a beam's ray, and touches nothing."""

    do: Literal["interrupt"]
    beam: str
    by: str = "something"
    """Its name."""
    lasts: Duration | None = None
    """Leaves by itself after this; absent: stays until the beam is cleared."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClearBeam(Step):
    """What stands in a beam's ray leaves it."""

    do: Literal["clear beam"]
    beam: str
    by: str = "something"
    """The name of what leaves."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PressEdge(Step):
    """A hand (or the test block) presses an edge for a while."""

    do: Literal["press"]
    edge: str
    held: Duration = 500_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault(Step):
    """A fault begins; with `lasts` it ends again; with `gap` it flickers: lasts, gap, lasts, gap, ..."""

    do: Literal["fault"]
    fault: str
    device: str = ""
    """Name of the edge, transmitter, switch side, contactor direction ... that it sits at."""
    lasts: Duration | None = None
    gap: Duration | None = None
    flickers: int = 1
    """How many times it comes, with a gap."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LosePower(Step):
    """The operator's supply is lost for a while."""

    do: Literal["lose power"]
    lasts: Duration


@dataclass(frozen=True, slots=True, kw_only=True)
class PushLeaf(Step):
    """The leaf is moved by hand or wind while nothing holds it (or against what holds it)."""

    do: Literal["push leaf"]
    direction: Direction
    distance: Length
    speed: Speed = 0.3
    by: str = "hand"
    leaf: LeafName = LeafName.FIRST


@dataclass(frozen=True, slots=True, kw_only=True)
class NewCell(Step):
    """A fresh cell is fitted in a transmitter."""

    do: Literal["new cell"]
    transmitter: str


AnyStep = GiveCommand | Obstruct | Clear | Interrupt | ClearBeam | PressEdge | Fault | LosePower | PushLeaf | NewCell


@dataclass(frozen=True, slots=True)
class Expectation:
    """What is expected of one requirement."""

    requirement: str
    outcome: Expected = Expected.PASS
    failure: str | None = None
    """With `fail`: which of the requirement's named failures."""
    limit: str | None = None
    """A tighter limit than the profile's, such as "600 ms"."""


@dataclass(frozen=True, slots=True)
class Override:
    """One setting of the site changed for this scenario."""

    setting: str
    """Path in the site file: `drive.force_limit`, `edges.front edge.band_low`."""
    value: str


@dataclass(frozen=True, slots=True)
class Scenario:
    """A whole scenario file, its site read and overridden."""

    title: str
    teaches: str
    site: Site
    ends: Duration
    steps: tuple[AnyStep, ...]
    expect: tuple[Expectation, ...]
    seed: int = 1
    covers: tuple[str, ...] = ()
    """Cells of the coverage matrix that this file exercises: "open closing mid-travel"."""
    file: str = ""
    site_file: str = ""
    expected_at: tuple[tuple[int, int], ...] = ()
    """Where each of `expect` stands in the file: line and column, from 1; last, where the list itself stands."""
    overrides: tuple[Override, ...] = ()
    """Settings of the site changed for this scenario, as the file states them; already applied in `site`."""
