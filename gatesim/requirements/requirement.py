"""The contract of a requirement: a monitor.

`begin` makes a state from the limit and the site, `see` takes one stamped event, `verdict` may be asked at any instant.
States are copied with the world (`copy()`), so a twin run starts with what was seen before the fork.  A requirement
sees
events only: no scenario, no runner, no fault kind.  Each file ends with `REQUIREMENT = TheClass()`.
"""

from __future__ import annotations

from enum import Enum
from typing import Any, ClassVar, NamedTuple, Protocol

from gatesim.events import Event, Run
from gatesim.plant.site import Profile, Site
from gatesim.requirements.verdict import Measure, Verdict

__all__ = ["OVERRIDABLE", "Limit", "Requirement", "Run", "Source", "Standing"]

OVERRIDABLE = "in the site's limit_overrides, with a source; in a scenario's expectation, to a tighter limit"
"""Where a requirement's limit may be overridden."""


class Standing(Enum):
    """Where a figure or sentence comes from."""

    READ = "read in the source"
    MEMORY = "from memory"
    PRACTICE = "common practice, no source"
    OURS = "ours"


class Source(NamedTuple):
    """Document and clause, or why there is none.  `analogue` where the clause is about another thing."""

    document: str
    clause: str
    standing: Standing
    analogue: bool = False


class Limit(NamedTuple):
    """A profile's limit: whole number in the requirement's measure."""

    value: int
    source: Source


class Requirement(Protocol):
    """One requirement."""

    id: ClassVar[str]
    sentence: ClassVar[str]
    run: ClassVar[Run]
    quantity: ClassVar[str]
    """What is measured, in words: "contact to reversal begun"; "" where nothing is."""
    measure: ClassVar[Measure]
    failures: ClassVar[tuple[str, ...]]
    """Names of the ways to fail, which a scenario may expect."""
    source: ClassVar[Source]
    sees: ClassVar[tuple[type, ...]]
    """Event types that `see` wants; no others are given."""
    least: ClassVar[bool]
    """The limit is a lower bound: the measured value must reach it."""
    whole_gate: ClassVar[bool]
    """It judges both leaves of a site together: one state sees the events of both."""
    needs: ClassVar[tuple[type, ...]]
    """Those of them without which a trace from elsewhere can't be judged."""

    def limits(self) -> dict[Profile, Limit | None]:
        """The limit in each profile in which the requirement stands (None: it stands there without a figure)."""

    def begin(self, limit: int | None, site: Site) -> Any:
        """The state before the first event."""

    def see(self, state: Any, number: int, at: int, event: Event) -> None:
        """Take one event; `number` counts all events of the run from 0 (for evidence); `at` is its rounded instant."""

    def verdict(self, state: Any, now: int) -> Verdict:
        """What can be said at this instant; at the end of a run, the last word."""

    def settled(self, state: Any) -> bool:
        """Whether nothing that may still come can change what was begun (lets a twin run end early)."""

    def forked(self, state: Any, now: int) -> None:
        """A twin run begins at this instant: from here on only the contacts that began at it are judged."""
