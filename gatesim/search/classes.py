"""What came of a fault: one class for each run, from the verdicts of every requirement."""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from typing import Any, NamedTuple

from gatesim.events import FoundBy
from gatesim.requirements.verdict import Outcome, Verdict


class Class(Enum):
    """What came of a fault at a moment, from the most to the least grave."""

    UNSAFE = "unsafe"
    LATE = "safe but late"
    UNDETERMINED = "undetermined"
    LATENT = "latent"
    NUISANCE = "nuisance stop"
    SAFE = "safe in time"
    NO_EFFECT = "no effect"


ORDER = tuple(Class)
"""From the most to the least grave."""

AWAITED = ("fault-in-motion", "lost-link-found", "fault-on-other-side")
"""Requirements whose case opens when a fault acts, and whose time is a reaction to it."""
INTERRUPTED = ("stop-obeyed", "travel-time-limit")
"""The same, where the move did not come to its own end."""
TOUCHED = ("reversal-begun", "edge-alone-reversal-begun", "force-alone-reversal-begun")
"""Those whose time is a reaction to a contact."""

ABOUT_THE_SITE = ("battery-low-lead", "battery-low-announced", "warning-before-automatic-closing", "overtravel-margin")
"""Not judged in a sweep: what a fault put in by hand can't keep (a lead of days, a warning before a motion that nobody
ordered), and what is a figure of the site whatever happens."""

STOP_LIMIT = 2_000_000
"""Within this (us) the leaf must stand after a fault that reads as a press, or of the drive; as `fault-in-motion`, and
ours as it is."""

_LATE = ("too late",)


class Reaction(NamedTuple):
    """A reaction's time (us; perhaps traced), its limit, and the requirement that says so."""

    requirement: str
    measured: Any
    limit: int

    @property
    def excess(self) -> Any:
        """By how much it is over the limit (negative: within)."""
        return self.measured - self.limit


class Told(NamedTuple):
    """What one run comes to."""

    what: Class
    reaction: Reaction | None
    why: str = ""
    """The requirement and its failure, where it is not safe."""
    broken: bool = False
    """The run broke off."""
    acted: bool = False
    """Whether the fault disturbed anything on its wire."""


class Seen(NamedTuple):
    """What was seen of a run beside its verdicts."""

    since: Any
    """When the fault or contact came."""
    interrupted: bool
    """The move did not come to its own end."""
    stood: Any
    """How long after the fault acted the leaf first stood, not at its own end; None where it did not."""
    as_press: bool
    """What came reads as a press."""
    guards: bool
    """It is of a device that guards the direction of the move, or of the drive."""


def reaction_in(verdicts: Mapping[str, Verdict], seen: Seen) -> Reaction | None:
    """The reaction with the least margin among those to what came at `since` or later."""
    worst: Reaction | None = None
    for name in (*AWAITED, *TOUCHED, *(INTERRUPTED if seen.interrupted else ())):
        verdict = verdicts.get(name)
        if verdict is None or verdict.outcome not in (Outcome.PASS, Outcome.FAIL):
            continue
        measured, limit = verdict.figures.measured, verdict.figures.limit
        if measured is None or limit is None or verdict.at is None or verdict.at < seen.since:
            continue
        one = Reaction(name, measured, limit)
        if worst is None or one.excess > worst.excess:
            worst = one
    return worst


def told(verdicts: Mapping[str, Verdict], seen: Seen) -> Told:
    """The class of a run."""
    failed = [(name, one.failure or "") for name, one in verdicts.items()
              if one.outcome is Outcome.FAIL]
    if seen.as_press and all(name in AWAITED for name, _ in failed):
        # Answered as a demand: the leaf stands and its start is blocked; the lockout waits for the press limit.
        answered = _answered(verdicts, seen)
        if answered is not None:
            return answered
    reaction = reaction_in(verdicts, seen)
    if failed:
        grave = [one for one in failed if one[1] not in _LATE]
        name, failure = (grave or failed)[0]
        return Told(Class.UNSAFE if grave else Class.LATE, reaction, f"{name}: {failure}")
    for name in AWAITED:
        if name in verdicts and verdicts[name].outcome is Outcome.UNDETERMINED:
            return Told(Class.UNDETERMINED, reaction, f"{name}: {verdicts[name].reason}")
    if reaction is not None:
        return Told(Class.SAFE, reaction)
    if not seen.interrupted:
        return Told(Class.NO_EFFECT, None)
    standing = None if seen.stood is None else Reaction("standstill", seen.stood, STOP_LIMIT)
    if not seen.guards:
        return Told(Class.NUISANCE, standing)
    return Told(Class.SAFE if standing is None or standing.excess <= 0 else Class.LATE, standing)


def _answered(verdicts: Mapping[str, Verdict], seen: Seen) -> Told | None:
    """What reads as a press: ahead of the leaf it must stop it; on the other side the move may finish."""
    other = verdicts.get("fault-on-other-side")
    if seen.stood is not None and seen.stood <= STOP_LIMIT:
        return Told(Class.SAFE, Reaction("standstill", seen.stood, STOP_LIMIT))
    if not seen.interrupted and other is not None and other.outcome is not Outcome.NOT_EXERCISED:
        return Told(Class.NO_EFFECT, None)
    return None


def worse(first: Class, second: Class) -> Class:
    """The graver of two."""
    return first if ORDER.index(first) <= ORDER.index(second) else second


def expected(found: FoundBy, guards: bool, shows_late: str) -> tuple[Class, ...]:
    """What may come of a fault by what its catalogue entry says of how it can be found.

    `guards` as in `Seen`.  What only a press test finds, or nothing, may be latent: a residual risk, which stays in the
    summary.  What the next start finds may be latent until then, and so may what shows late for a reason that its entry
    gives; what guards the other direction only is no means here.
    """
    fine = (Class.SAFE, Class.NO_EFFECT)
    if found in (FoundBy.PRESS_TEST, FoundBy.NEVER, FoundBy.NEXT_START) or not guards or shows_late:
        return (*fine, Class.LATENT)
    return fine
