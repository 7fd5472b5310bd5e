"""What a requirement says of a run.  Definition and result are different values."""

from __future__ import annotations

from enum import Enum
from typing import NamedTuple


class Outcome(Enum):
    """The four outcomes.  An error is no verdict; not exercised and undetermined are never a pass."""

    PASS = "pass"
    FAIL = "fail"
    NOT_EXERCISED = "not exercised"
    UNDETERMINED = "undetermined"


class Measure(Enum):
    """The unit in which a requirement's quantity is given: whole microseconds, micrometres, millinewtons, a count."""

    US = "us"
    UM = "um"
    MN = "mN"
    ONE = "1"


class Figures(NamedTuple):
    """The worst measured value against its limit.  `margin` is positive inside the limit."""

    measured: int | None
    limit: int | None
    margin: int | None


class Verdict(NamedTuple):
    """The result of one requirement on one run.

    `failure` names what failed (one of the requirement's `failures`); `at` is the instant of the cause (us),
    `evidence` the instants and events that prove it, in order.
    """

    outcome: Outcome
    figures: Figures = Figures(None, None, None)
    failure: str | None = None
    at: int | None = None
    reason: str = ""
    evidence: tuple[int, ...] = ()
    """Numbers (from 0) of the events seen by the run so far that prove the verdict."""
