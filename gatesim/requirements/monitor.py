"""What the monitors share: the worst case of several, and a base that fills in what most leave as it is."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar

from gatesim.plant.part import state
from gatesim.plant.site import Profile
from gatesim.requirements.profiles import unfigured
from gatesim.requirements.requirement import OVERRIDABLE, Limit, Run
from gatesim.requirements.verdict import Figures, Measure, Outcome, Verdict

_RANK = (Outcome.NOT_EXERCISED, Outcome.PASS, Outcome.UNDETERMINED, Outcome.FAIL)


def worse(first: Verdict | None, second: Verdict) -> Verdict:
    """The worse of two: a failure beats undetermined beats a pass; among equals the lesser margin, then the earlier."""
    if first is None:
        return second
    ranks = _RANK.index(first.outcome), _RANK.index(second.outcome)
    if ranks[0] != ranks[1]:
        return first if ranks[0] > ranks[1] else second
    margins = first.figures.margin, second.figures.margin
    if margins[1] is not None and (margins[0] is None or margins[1] < margins[0]):
        return second
    return first


def at_most(value: int, limit: int | None, failure: str, at: int, evidence: Iterable[int], reason: str = "") -> Verdict:
    """A pass when the value is within (≤) the limit."""
    figures = Figures(value, limit, None if limit is None else limit - value)
    if limit is not None and value > limit:
        return Verdict(Outcome.FAIL, figures, failure, at, reason, tuple(evidence))
    return Verdict(Outcome.PASS, figures, None, at, reason, tuple(evidence))


def at_least(
    value: int, limit: int | None, failure: str, at: int, evidence: Iterable[int], reason: str = ""
) -> Verdict:
    """A pass when the value reaches (≥) the limit."""
    figures = Figures(value, limit, None if limit is None else value - limit)
    if limit is not None and value < limit:
        return Verdict(Outcome.FAIL, figures, failure, at, reason, tuple(evidence))
    return Verdict(Outcome.PASS, figures, None, at, reason, tuple(evidence))


def held(at: int, evidence: Iterable[int], reason: str = "") -> Verdict:
    """A pass of something without a figure."""
    return Verdict(Outcome.PASS, Figures(None, None, None), None, at, reason, tuple(evidence))


def failed(failure: str, at: int, evidence: Iterable[int], reason: str = "") -> Verdict:
    """A failure of something without a figure."""
    return Verdict(Outcome.FAIL, Figures(None, None, None), failure, at, reason, tuple(evidence))


def undetermined(at: int, evidence: Iterable[int], reason: str) -> Verdict:
    """Too little was seen."""
    return Verdict(Outcome.UNDETERMINED, Figures(None, None, None), None, at, reason, tuple(evidence))


def waiting(begun: int, now: int, limit: int | None, failure: str, evidence: Iterable[int]) -> Verdict:
    """What can be said while the awaited has not come: a failure once the limit has passed."""
    if limit is not None and now - begun > limit:
        reason = "it had not happened when the run ended"
        return Verdict(
            Outcome.FAIL, Figures(now - begun, limit, limit - (now - begun)), failure, begun, reason, tuple(evidence)
        )
    return undetermined(begun, evidence, "the run ended within the limit")


@state
class Tally:
    """The worst verdict so far.  Part of every monitor's state."""

    worst: Verdict | None = None
    skipped: str = ""
    """Why a trigger that came was not judged."""

    def take(self, verdict: Verdict) -> None:
        """Count one more case."""
        self.worst = worse(self.worst, verdict)


class Monitor:
    """Base of the requirements: a state with a `tally`, cases still open, no twin."""

    run: ClassVar[Run] = Run.WHOLE
    quantity: ClassVar[str] = ""
    measure: ClassVar[Measure] = Measure.ONE
    needs: ClassVar[tuple[type, ...]] = ()
    least: ClassVar[bool] = False
    overridable: ClassVar[str] = OVERRIDABLE
    whole_gate: ClassVar[bool] = False
    idle: ClassVar[str] = "nothing of the kind happened"
    """Why it is not exercised when its trigger never came."""

    def limits(self) -> dict[Profile, Limit | None]:
        """No figure, in both profiles."""
        return unfigured()

    def open_cases(self, state: Any, now: int) -> Iterable[Verdict]:
        """Verdicts, as of now, on what has begun and not ended."""
        return ()

    def verdict(self, state: Any, now: int) -> Verdict:
        """The worst of what has ended and what is open."""
        found: Verdict | None = state.tally.worst
        for case in self.open_cases(state, now):
            found = worse(found, case)
        if found is not None:
            return found
        return Verdict(Outcome.NOT_EXERCISED, reason=state.tally.skipped or self.idle)

    def settled(self, state: Any) -> bool:
        """Nothing is open."""
        return True

    def forked(self, state: Any, now: int) -> None:
        """No twin."""
