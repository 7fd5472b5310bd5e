"""Contacts while a fault is there and nothing announces it: at which moments, and by which means, they are missed.

An onset stands for each region that the fault alone showed; from there to the end of the move a contact comes at every
moment.  A contact is *missed* by a means (edge alone, force sensing alone, or the gate as a whole) where its verdict is
a failure with the fault and a pass without it.  Both sides are laid out by traced moments, as the fault's own moment is
(`moments`), so the missed moments are known to the microsecond; or they are tried at a few moments only, which is said.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

from gatesim.errors import GatesimError
from gatesim.events import ContactBegan, Run
from gatesim.plant.fault import Place
from gatesim.plant.site import Site
from gatesim.plant.world import Plant
from gatesim.requirements.verdict import Figures, Outcome, Verdict
from gatesim.run import Course, silences
from gatesim.search.classes import TOUCHED
from gatesim.search.cover import Cover
from gatesim.search.ground import Ground, nothing
from gatesim.search.moments import AGREES, Coverage, Spoken, corners, speak
from gatesim.search.path import Claim
from gatesim.search.probe import ContactProber, watch_for
from gatesim.search.traced import Traced
from gatesim.units import us

MEANS = ("edge-alone-reversal-begun", "force-alone-reversal-begun", "reversal-begun")
"""Edge alone, force sensing alone, the gate as a whole."""
NO_FIGURES = Figures(None, None, None)
LONGEST = 60_000_000
"""Where a profile states no limit, a contact is waited for so long (us)."""
TRIES = 8
"""Moments of contact tried first, spread over the window, so that a short time does not see its beginning only."""

More = Callable[[], bool]
Said = dict[str, Verdict]


class MeansProber(ContactProber):
    """Plays a contact until each means has met it or is over its limit, and no further."""

    def __call__(self, moment: Any) -> Said:  # type: ignore[override]
        """What is said of each means; nothing where the leaf touched nothing.  GatesimError where a run broke off."""
        course = self.begin(moment)
        watch = watch_for(course, self.ground, self.site)
        for now, happened in course.play():
            over = watch.over(now, happened)
            if any(type(event) is ContactBegan for event in happened):
                return self._judged_apart(course, now)
            if over:
                break
        return {}

    def _judged_apart(self, course: Course, touched: Any) -> Said:
        said: Said = {}
        for run in (Run.EDGE_ALONE, Run.FORCE_ALONE):
            said |= self._alone(course, run, touched)
        return said | _settled(course, touched)

    def _alone(self, course: Course, run: Run, now: Any) -> Said:
        assert course.judge is not None
        twin = course.copy(course.judge.twin(run), nothing)
        twin.live(now, silences(twin.plant, run))
        return _settled(twin, now)


def _settled(course: Course, touched: Any) -> Said:
    """Play on until the contact's verdict is settled, or past its limit; a later reversal would be too late."""
    judge = course.judge
    assert judge is not None
    waits = [(judge.states[k], judge.limits[one.id]) for k, one in enumerate(judge.monitors)
             if one.run is judge.run and one.id in TOUCHED]
    limit = max([LONGEST if known is None else known.value for _, known in waits], default=0)
    while any(state.open for state, _ in waits) and (now := course.next()) <= course.ends:
        if now - touched > limit + 1:
            return _verdicts(course, touched + limit + 2)
        course.live(now)
    return _verdicts(course, course.world.now)


def _verdicts(course: Course, now: Any) -> Said:
    assert course.judge is not None
    return {name: one for name, one in course.judge.verdicts(now).items() if name in TOUCHED}


def can_meet(site: Site, ground: Ground) -> bool:
    """Whether anything can be met on the way of a ground's leaf."""
    return any(zone.direction is ground.direction and zone.leaf is ground.leaf for zone in site.zones)


class Longest(NamedTuple):
    """The longest time from touch to reversal among the contacts that a means met: time and limit (us), and when."""

    measured: int
    limit: int
    at: int


class Strewn:
    """Contacts with one onset (or none: the healthy gate), as far as they have been laid or tried."""

    def __init__(self, prober: MeansProber, first: int, last: int, period: int) -> None:
        self.prober, self.period = prober, period
        self.known = Cover(first, last)
        self.of = {(name, outcome): Cover(first, last) for name in MEANS for outcome in (Outcome.PASS, Outcome.FAIL)}
        self.longest: dict[str, Longest] = {}
        self.runs = 0
        self.weak: dict[str, int] = {}

    def next(self) -> int | None:
        """The first moment that is not known."""
        return self.known.next()

    def try_at(self, moment: int) -> None:
        """One plain run: it speaks for its own moment only."""
        self.runs += 1
        said = self._asked(moment)
        self._known(said, moment, moment)
        self._take(said, Claim(0, 0, 0), moment)

    def trace_at(self, moment: int, *, here_only: bool = False) -> None:
        """One traced run, and all moments for which it speaks (or those around this one only)."""
        spoken: Spoken[Said] = speak(self._asked, moment, (self.known.first, self.known.last), self.period, _figures)
        if here_only:  # its repetitions would leave as many gaps
            spoken = spoken._replace(claim=spoken.claim._replace(turns=0))
        self.runs += 1
        if spoken.left:
            self.weak[spoken.left] = self.weak.get(spoken.left, 0) + 1
        for first, last in spoken.places(moment, self.period):
            self._known(spoken.told, first, last)
        self._take(spoken.told, spoken.claim, moment)

    def _asked(self, moment: Any) -> Said:
        try:
            return self.prober(moment)
        except GatesimError as error:
            text = f"{type(error).__name__}: {error}"
            self.weak[text] = self.weak.get(text, 0) + 1
            return {}

    def _known(self, said: Said, first: int, last: int) -> None:
        self.known.add(first, last)
        for name in MEANS:
            if name in said and (name, said[name].outcome) in self.of:
                self.of[name, said[name].outcome].add(first, last)

    def _take(self, said: Said, claim: Claim, moment: int) -> None:
        """Of what was met in time, the longest; it stands at a corner of the region."""
        for name in MEANS:
            figures = said[name].figures if name in said and said[name].outcome is Outcome.PASS else NO_FIGURES
            if figures.measured is None or figures.limit is None:
                continue
            measured: Any = figures.measured
            for d, k in corners(measured, claim):
                value = us(measured.at(d, k) if isinstance(measured, Traced) else measured)
                if name not in self.longest or value > self.longest[name].measured:
                    self.longest[name] = Longest(value, figures.limit, moment + d + k * self.period)

    def test(self) -> None:
        """Put the claim to the test: the longest times once more, by plain runs."""
        for name, known in sorted(self.longest.items()):
            self.runs += 1
            said = self._asked(known.at)
            measured = said[name].figures.measured if name in said else None
            if measured is None or abs(us(measured) - known.measured) > AGREES:
                self.weak["the plain run at the longest time differs"] = 1
            else:
                self.longest[name] = known._replace(measured=us(measured))


def _figures(said: Said) -> list[Any]:
    return [one.figures.measured for one in said.values()]


class Latent(NamedTuple):
    """What contacts showed while a fault was there and nothing announced it.

    `tried` moments of contact, of which the edge's path alone failed `edge` times, the force sensing alone `force`
    times, and both together, that is the gate as a whole, `whole` times; each only where the healthy gate passes.
    `unprotected`: the longest time (us) from the first to the last such moment with no contact met between them.
    """

    tried: int
    edge: int
    force: int
    whole: int
    unprotected: int
    first: int | None
    """The first moment of contact that was missed, if any."""
    onset: int
    """The moment of the fault before that contact."""
    missed: tuple[tuple[str, str], ...]
    """The requirements that failed there, each with its failure."""
    onsets: tuple[int, ...]
    """The moments of the fault that were tried, one for each region that it showed alone."""
    missed_us: tuple[int, ...]
    """For how many moments (whole microseconds) of contact edge, force sensing and gate are known to miss."""
    longest: tuple[tuple[str, Longest], ...]
    """The longest that each means took among the contacts that it met."""
    runs: int
    coverage: Coverage
    why: str
    """Why it is not exact; "" where it is."""
    gaps: tuple[tuple[int, int], ...]
    """Moments of contact that nobody speaks for, of any onset."""

    @property
    def rescued(self) -> int:
        """Contacts that one means missed and the other met."""
        return max(self.edge, self.force) - self.whole


class Contacts:
    """The contacts of one ground: the healthy gate's, which are kept, and those with a fault."""

    def __init__(self, plant: Plant, site: Any, seed: int, ground: Ground, period: int) -> None:
        self.plant, self.site, self.seed, self.ground, self.period = plant, site, seed, ground, period
        self.healthy = self._strewn(None, ground.first)

    def _strewn(self, place: Place | None, onset: int) -> Strewn:
        prober = MeansProber(self.plant, self.site, self.seed, self.ground, place, onset)
        return Strewn(prober, onset, self.ground.last, self.period)

    def latent(self, place: Place, onsets: Sequence[int], more: More | None) -> Latent:
        """Contacts with a fault there from each onset on.  `more`: whether to go on laying; None: some are tried."""
        strewn = [self._strewn(place, onset) for onset in sorted(onsets)]
        moments = [self.ground.first + (self.ground.last - self.ground.first) * (2 * k + 1) // (2 * TRIES)
                   for k in range(TRIES)]
        before = self.healthy.runs
        for one in (self.healthy, *strewn):
            for moment in moments:
                if one.known.has(moment) or moment < one.known.first:
                    continue
                if more is None:
                    one.try_at(moment)
                else:
                    one.trace_at(moment, here_only=True)
        if more is not None:
            while (behind := self._behind(strewn)) is not None and more():
                behind[1].trace_at(behind[0])
        for one in strewn:
            one.test()
        tried = [[moment for moment in moments if moment >= one.known.first] for one in strewn]
        return self._latent(strewn, tried, self.healthy.runs - before, traced=more is not None)

    def _behind(self, strewn: list[Strewn]) -> tuple[int, Strewn] | None:
        """Who is to be laid next, and where: the healthy gate and the others go side by side."""
        open_ = [(at, k, one) for k, one in enumerate((self.healthy, *strewn)) if (at := one.next()) is not None]
        return (least[0], least[2]) if (least := min(open_, default=None)) is not None else None

    def _missed(self, one: Strewn) -> dict[str, Cover]:
        return {name: one.of[name, Outcome.FAIL].meet(self.healthy.of[name, Outcome.PASS]) for name in MEANS}

    def _latent(self, strewn: list[Strewn], tried: list[list[int]], runs: int, *, traced: bool) -> Latent:
        missed = [self._missed(one) for one in strewn]
        edge, force, gate = (sum(one[name].has(moment) for one, moments in zip(missed, tried, strict=True)
                                 for moment in moments) for name in MEANS)
        first: tuple[int, int] | None = None
        unprotected = 0
        longest: dict[str, Longest] = {}
        for one, by_means in zip(strewn, missed, strict=True):
            whole = by_means[MEANS[0]].join(by_means[MEANS[1]]).join(by_means[MEANS[2]])
            begun = next((begin for begin, _ in whole.spans()), None)
            if begun is not None and (first is None or begun < first[0]):
                first = (begun, one.known.first)
            unprotected = max(unprotected, _stretch(one, whole))
            for name, known in one.longest.items():
                if name not in longest or known.measured > longest[name].measured:
                    longest[name] = known
        coverage, why, gaps = self._claim(strewn, traced=traced)
        return Latent(
            sum(map(len, tried)), edge, force, gate, unprotected, None if first is None else first[0],
            strewn[0].known.first if first is None else first[1],
            () if first is None else self._failures(strewn, missed, first),
            tuple(one.known.first for one in strewn),
            tuple([sum(one[name].spoken for one in missed) for name in MEANS]),
            tuple(sorted(longest.items())), runs + sum(one.runs for one in strewn), coverage, why, gaps)

    def _failures(self, strewn: list[Strewn], missed: list[dict[str, Cover]],
                  first: tuple[int, int]) -> tuple[tuple[str, str], ...]:
        k = next(k for k, one in enumerate(strewn) if one.known.first == first[1])
        said = strewn[k].prober(first[0])
        return tuple((name, said[name].failure or "") for name in MEANS if missed[k][name].has(first[0]))

    def _claim(self, strewn: list[Strewn], *, traced: bool) -> tuple[Coverage, str, tuple[tuple[int, int], ...]]:
        if not traced:
            return Coverage.SAMPLED, f"{TRIES} moments of contact tried", ()
        gaps = Cover(self.ground.first, self.ground.last)
        weak: dict[str, int] = dict(self.healthy.weak)
        for one in strewn:
            for first, last in one.known.gaps():
                gaps.add(first, last)
            for text, count in one.weak.items():
                weak[text] = weak.get(text, 0) + count
        for first, last in self.healthy.known.gaps():
            gaps.add(max(first, strewn[0].known.first), last)
        said = [f"{gaps.spoken} us of the moments of contact were not reached"] if gaps.spoken else []
        why = "; ".join([*said, *(f"{text} ({count} runs)" for text, count in weak.items())])
        coverage = Coverage.INCOMPLETE if gaps.spoken else Coverage.SAMPLED if weak else Coverage.EXACT
        return coverage, why, tuple(gaps.spans())


def _stretch(one: Strewn, missed: Cover) -> int:
    """The longest time from a missed contact to a missed one with none between them that was met (us)."""
    met = one.of[MEANS[0], Outcome.PASS].join(one.of[MEANS[1], Outcome.PASS]).join(one.of[MEANS[2], Outcome.PASS])
    longest, begun = 0, None
    marks = [(*span, True) for span in missed.spans()] + [(*span, False) for span in met.lacking(missed).spans()]
    for first, last, is_missed in sorted(marks):
        if not is_missed:
            begun = None
            continue
        begun = first if begun is None else begun
        longest = max(longest, last - begun)
    return longest
