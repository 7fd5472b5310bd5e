"""Laying moments end to end: one traced run speaks for an interval of moments, the next begins where it ends.

The result is the worst over all whole moments of a window with a certificate: what was spoken for, by how many runs,
and which gaps are left.  It is exact only where every run's claim is (`path.Path`), and no gap is left.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from enum import Enum
from math import ceil
from typing import Any, Generic, NamedTuple, Protocol, TypeVar

from gatesim.search.classes import Class, Reaction, Told, worse
from gatesim.search.cover import Cover
from gatesim.search.path import Claim, Path
from gatesim.search.traced import Traced
from gatesim.units import us

SURE = 1.0
"""A run speaks for the moments only for which what its reaction left out is within so many microseconds."""
AGREES = 1
"""The plain run at the worst moment must give the same to this many microseconds: each is rounded for itself."""


class Coverage(Enum):
    """What a row's claim is worth."""

    EXACT = "exact"
    SAMPLED = "sampled"
    INCOMPLETE = "incomplete"


class Prober(Protocol):
    """Runs the story with something at moment T, which may be a plain or a traced number."""

    def __call__(self, moment: Any) -> Told: ...


class Worst(NamedTuple):
    """The worst moment: its class, its reaction as whole numbers, and the moment."""

    what: Class
    requirement: str
    measured: int | None
    limit: int | None
    at: int
    why: str

    def graver(self, other: Worst) -> bool:
        """Whether it is worse than another: by class, then by how far over its limit."""
        if self.what is not other.what:
            return worse(self.what, other.what) is self.what
        mine = -(1 << 60) if self.measured is None or self.limit is None else self.measured - self.limit
        theirs = -(1 << 60) if other.measured is None or other.limit is None else other.measured - other.limit
        return mine > theirs


class Laid(NamedTuple):
    """What all moments of a window come to."""

    worst: Worst
    bound: int | None
    """No moment's reaction takes longer (us); None where that is not known."""
    runs: int
    coverage: Coverage
    why: str
    """Why it is not exact; "" where it is."""
    gaps: tuple[tuple[int, int], ...]
    classes: dict[Class, int]
    """Moments (whole microseconds) of each class."""
    profile: tuple[tuple[int, int | None], ...]
    """(moment, margin) at the beginning of each region, for drawing."""
    regions: tuple[tuple[tuple[Class, bool], int], ...] = ()
    """What was shown, each with the first moment of it: class, and whether the fault disturbed anything."""


T = TypeVar("T")


class Spoken(NamedTuple, Generic[T]):
    """One run: what it told, the moments for which it speaks, and how the moment left the model ("": it did not)."""

    told: T
    claim: Claim
    left: str

    def places(self, moment: int, period: int) -> Iterator[tuple[int, int]]:
        """The intervals of moments for which it speaks, first and last."""
        for turn in range(self.claim.turns + 1):
            shift = moment + turn * period
            yield shift + self.claim.first, shift + self.claim.last


def speak(prober: Callable[[Any], T], moment: int, window: tuple[int, int], period: int,
          figures: Callable[[T], Iterable[Any]]) -> Spoken[T]:
    """Run at a moment of a window.  `figures`: the times that are told, so that what they left out stays small."""
    path = Path()
    told = prober(Traced(float(moment), 1.0, float(period), path))
    for figure in figures(told):
        if isinstance(figure, Traced) and figure.err > 0:
            path.within((SURE / figure.err) ** (1 / 3))
    claim = path.claim(window[0] - moment, window[1] - moment)
    ahead = (window[1] - moment - claim.first) // period
    claim = claim._replace(turns=max(0, min(claim.turns, ahead)))
    return Spoken(told, claim, "" if path.steep else path.left)


def _figures(told: Told) -> tuple[Any, ...]:
    return () if told.reaction is None else (told.reaction.measured,)


class _Laying:
    """The state of one laying."""

    def __init__(self, first: int, last: int, period: int, prober: Prober) -> None:
        self.cover, self.period, self.prober = Cover(first, last), period, prober
        self.worst: Worst | None = None
        self.most: int | None = None
        self.runs = 0
        self.weak: Counter[str] = Counter()
        self.classes: Counter[Class] = Counter()
        self.profile: list[tuple[int, int | None]] = []
        self.regions: dict[tuple[Class, bool], int] = {}

    def one(self, moment: int) -> None:
        """Run at a moment, and speak for as many as the run allows."""
        spoken = speak(self.prober, moment, (self.cover.first, self.cover.last), self.period, _figures)
        self.runs += 1
        if spoken.left:
            self.weak[f"the moment leaves the model by {spoken.left}"] += 1
        before = self.cover.spoken
        for first, last in spoken.places(moment, self.period):
            self.cover.add(first, last)
        self.classes[spoken.told.what] += self.cover.spoken - before
        self._take(spoken.told, spoken.claim, moment)

    def _take(self, told: Told, claim: Claim, moment: int) -> None:
        """The worst of a region stands at one of its corners, or at the top of a bend."""
        shown = (told.what, told.acted)
        self.regions[shown] = min(self.regions.get(shown, moment), moment + claim.first)
        for d, k in corners(None if told.reaction is None else told.reaction.measured, claim):
            at = moment + d + k * self.period
            measured = None if told.reaction is None else us(_value(told.reaction, d, k))
            limit = None if told.reaction is None else told.reaction.limit
            name = "" if told.reaction is None else told.reaction.requirement
            if measured is not None and isinstance(told.reaction, Reaction):
                self.most = max(self.most or 0, measured + _err(told.reaction, d))
            one = Worst(told.what, name, measured, limit, at, told.why)
            if self.worst is None or one.graver(self.worst):
                self.worst = one
            if (d, k) == (claim.first, 0):
                self.profile.append((at, None if measured is None or limit is None else limit - measured))


def corners(measured: Any, claim: Claim) -> list[tuple[int, int]]:
    """Where in a region a figure may be greatest: (d, periods)."""
    places = {claim.first, claim.last}
    if isinstance(measured, Traced) and measured.bend < 0:
        top = us(-measured.slope / (2 * measured.bend))
        places |= {d for d in (top - 1, top, top + 1) if claim.first <= d <= claim.last}
    return sorted((d, k) for d in places for k in {0, claim.turns})


def _value(reaction: Reaction, d: int, k: int) -> float:
    measured = reaction.measured
    return measured.at(d, k) if isinstance(measured, Traced) else float(measured)


def _err(reaction: Reaction, d: int) -> int:
    """The bound of what a reaction's polynomial left out at d, in whole microseconds."""
    if d == 0 or not isinstance(reaction.measured, Traced):
        return 0  # at its own moment nothing was left out, however much may be beside it
    return ceil(reaction.measured.err * abs(d) ** 3)


def lay(first: int, last: int, period: int, prober: Prober, more: Callable[[int], bool]) -> Laid:
    """Lay the whole moments from `first` to `last`; `period` is that of the clock in whose turns stories repeat.

    `more(runs)` says whether to go on: what was not reached is a gap, and the row incomplete.
    """
    laying = _Laying(first, last, period, prober)
    while (moment := laying.cover.next()) is not None and (laying.runs == 0 or more(laying.runs)):
        laying.one(moment)
    return _result(laying, prober)


def grid(moments: Iterable[int], prober: Prober) -> Laid:
    """Only these moments, each by a plain run: sampled."""
    chosen = sorted(set(moments))
    laying = _Laying(chosen[0], chosen[-1], 1, prober)
    for moment in chosen:
        told = prober(moment)
        laying.runs += 1
        laying.classes[told.what] += 1
        laying._take(told, Claim(0, 0, 0), moment)
    laying.weak[f"{len(chosen)} moments tried"] += 1
    laying.cover.add(laying.cover.first, laying.cover.last)
    return _result(laying, prober)


def _result(laying: _Laying, prober: Prober) -> Laid:
    """Put the claim to the test: the worst moment once more, by a plain run."""
    worst = laying.worst
    assert worst is not None
    again = prober(worst.at)
    laying.runs += 1
    measured = None if again.reaction is None else us(again.reaction.measured)
    known = None if measured is None or worst.measured is None else abs(measured - worst.measured)
    if again.what is not worst.what or (known is None) != (worst.measured is None) or (known or 0) > AGREES:
        laying.weak["the plain run at the worst moment differs"] += 1
    worst = worst._replace(what=again.what, measured=measured, why=again.why,
                           limit=None if again.reaction is None else again.reaction.limit,
                           requirement="" if again.reaction is None else again.reaction.requirement)
    gaps = tuple(laying.cover.gaps())
    coverage = Coverage.INCOMPLETE if gaps else Coverage.SAMPLED if laying.weak else Coverage.EXACT
    why = "; ".join(f"{text} ({count} runs)" for text, count in laying.weak.items())
    if gaps:
        open_ = sum(end - begin + 1 for begin, end in gaps)
        why = "; ".join(filter(None, (f"{open_} us of the window were not reached", why)))
    bound = laying.most if coverage is Coverage.EXACT else None
    return Laid(worst, bound, laying.runs, coverage, why, gaps, dict(laying.classes), tuple(laying.profile),
                tuple(laying.regions.items()))
