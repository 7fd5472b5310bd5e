"""Judging: limits by profile, site and scenario; a judge that folds events; verdicts against what was expected."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache
from typing import Any, NamedTuple

from gatesim.events import ContactBegan, Event, LeafName, Run
from gatesim.plant.leaves import as_leaf, leaves
from gatesim.plant.site import Profile, Site
from gatesim.requirements.catalogue import requirements
from gatesim.requirements.leaf_view import ends_at_start, of_a_leaf, seen_from
from gatesim.requirements.monitor import worse
from gatesim.requirements.requirement import Limit, Requirement, Source, Standing
from gatesim.requirements.verdict import Outcome, Verdict
from gatesim.scenario.model import Expectation, Expected
from gatesim.trace import Section
from gatesim.units import parse_any, us


class Row(NamedTuple):
    """One requirement's verdict beside what was expected; `section` is the place of the judged section among all."""

    requirement: str
    verdict: Verdict
    expected: str | None
    differs: bool
    why: str
    limit: Limit | None
    profile: Profile
    run: Run
    section: int


Sees = Callable[[Any, int, int, Event], None]
"""A monitor's `see`."""

Judged = tuple[Run, dict[str, Verdict]]
"""What one section's judge says: its run, and a verdict for each requirement of that run."""


def limits_for(site: Site, expect: Iterable[Expectation] = ()) -> dict[str, Limit | None]:
    """The limit of each requirement at this site: the profile's, then the site's own, then a scenario's where it is
    tighter.

    A requirement that does not stand in the site's profile is absent; None: it stands there without a figure.
    """
    known = requirements()
    found: dict[str, Limit | None] = {}
    for name, requirement in known.items():
        by_profile = requirement.limits()
        if site.limits in by_profile:
            found[name] = by_profile[site.limits]
    for override in site.limit_overrides:
        if override.requirement in found:
            source = Source(override.source, "given by the site", Standing.OURS)
            found[override.requirement] = Limit(parse_any(override.limit).whole, source)
    for wanted in expect:
        if wanted.limit is not None and wanted.requirement in found:
            given = Limit(parse_any(wanted.limit).whole, Source("this scenario", "", Standing.OURS))
            found[wanted.requirement] = _tighter(known[wanted.requirement], found[wanted.requirement], given)
    return found


def _tighter(requirement: Requirement, known: Limit | None, given: Limit) -> Limit:
    if known is None:
        return given
    is_tighter = given.value > known.value if requirement.least else given.value < known.value
    return given if is_tighter else known


class Judge:
    """The monitors' states.  It gives each event to the monitors that want its kind, its instant rounded once.

    The judge of a whole run carries the twins' monitors too, so that a fork knows what came before it; `verdicts`
    gives those of the
    judge's own run.  Of two leaves each is judged: a monitor of leaves has a state for each (`leaf_view`).
    """

    __slots__ = ("_by_type", "leaves", "limits", "monitors", "now", "run", "site", "states")

    def __init__(self, site: Site, limits: dict[str, Limit | None], run: Run) -> None:
        self.site, self.limits, self.run = site, limits, run
        wanted = [
            (requirement, leaf)
            for name, requirement in requirements().items()
            if name in limits and run in (requirement.run, Run.WHOLE)
            for leaf in _leaves_for(requirement, site)
        ]
        self.monitors = tuple(monitor for monitor, _ in wanted)
        self.leaves: tuple[LeafName | None, ...] = tuple(leaf for _, leaf in wanted)
        self.states: list[Any] = [
            _begun(monitor, _value(limits[monitor.id]), site, leaf) for monitor, leaf in wanted
        ]
        self._by_type = _dispatch(self.monitors, self.leaves)
        self.now = 0.0

    @classmethod
    def begin(cls, site: Site, expect: Iterable[Expectation] = ()) -> Judge:
        """The judge of a whole run."""
        return cls(site, limits_for(site, expect), Run.WHOLE)

    def copy(self) -> Judge:
        """An independent equal judge."""
        return self._of(self.run, range(len(self.monitors)))

    def twin(self, run: Run) -> Judge:
        """The judge of a twin that forks now, right after the events of this instant: it knows what came before, and
        judges the
        contacts of this instant only.
        """
        new = self._of(run, [k for k, monitor in enumerate(self.monitors) if monitor.run is run])
        for monitor, state in zip(new.monitors, new.states, strict=True):
            monitor.forked(state, us(self.now))
        return new

    def _of(self, run: Run, chosen: Iterable[int]) -> Judge:
        new = object.__new__(Judge)
        new.site, new.limits, new.run, new.now = self.site, self.limits, run, self.now
        places = list(chosen)
        new.monitors = tuple(self.monitors[k] for k in places)
        new.leaves = tuple(self.leaves[k] for k in places)
        new.states = [self.states[k].copy() for k in places]
        new._by_type = self._by_type if len(places) == len(self.monitors) else _dispatch(new.monitors, new.leaves)
        return new

    def see(self, number: int, at: float, event: Event) -> None:
        """Give one event to the monitors that want its kind; `number` counts from 0."""
        self.now = at
        wanted = self._by_type.get(type(event))
        if wanted is not None:
            rounded, states = us(at), self.states
            for k, see in wanted:
                see(states[k], number, rounded, event)

    @property
    def wanted(self) -> Mapping[type, object]:
        """The kinds of event that some monitor wants.  Of the others only the instant matters (`now`)."""
        return self._by_type

    def verdicts(self, now: float) -> dict[str, Verdict]:
        """What can be said now, of each requirement of this judge's run."""
        found: dict[str, Verdict] = {}
        for monitor, state in zip(self.monitors, self.states, strict=True):
            if monitor.run is self.run:
                found[monitor.id] = worse(found.get(monitor.id), monitor.verdict(state, us(now)))
        return found

    def settled(self) -> bool:
        """Whether nothing that may still come can change what was begun."""
        return all(
            monitor.settled(state)
            for monitor, state in zip(self.monitors, self.states, strict=True)
            if monitor.run is self.run
        )


def _leaves_for(requirement: Requirement, site: Site) -> tuple[LeafName | None, ...]:
    """For which leaf a requirement has a state each: None is the whole gate."""
    if site.second_leaf is None or requirement.whole_gate or not any(of_a_leaf(kind) for kind in requirement.sees):
        return (None,)
    return tuple(one.leaf for one in leaves(site))


def _begun(requirement: Requirement, limit: int | None, site: Site, leaf: LeafName | None) -> Any:
    if leaf is None:
        return requirement.begin(limit, site)
    state = requirement.begin(limit, as_leaf(site, leaf))
    if hasattr(state, "driving"):
        state.driving.leaf, state.driving.ends = leaf, ends_at_start(site, leaf)
    return state


@cache
def _dispatch(
    monitors: tuple[Requirement, ...], whose: tuple[LeafName | None, ...]
) -> dict[type, tuple[tuple[int, Sees], ...]]:
    """For each kind of event the monitors that want it, by their place, and what gives it to them."""
    by_type: dict[type, tuple[tuple[int, Sees], ...]] = {}
    for k, (monitor, leaf) in enumerate(zip(monitors, whose, strict=True)):
        for kind in monitor.sees:
            see = monitor.see if leaf is None or not of_a_leaf(kind) else _from(leaf, monitor.see)
            by_type[kind] = (*by_type.get(kind, ()), (k, see))
    return by_type


def _from(leaf: LeafName, see: Sees) -> Sees:
    """What gives a monitor of one leaf an event of either."""

    def told(state: Any, number: int, at: int, event: Event) -> None:
        see(state, number, at, seen_from(leaf, event))

    return told


def _value(limit: Limit | None) -> int | None:
    return None if limit is None else limit.value


# --- against what was expected ---------------------------------------------------------------------------------------


def compare(site: Site, expect: Sequence[Expectation], judged: Sequence[Judged]) -> tuple[Row, ...]:
    """A row for every requirement, in the order of the ids: the worst verdict over the sections of its run, beside
    what was
    expected.  `judged` has one entry a section, the whole run first.
    """
    limits = limits_for(site, expect)
    wanted = {expectation.requirement: expectation for expectation in expect}
    rows = []
    for name, requirement in requirements().items():
        verdict, section = _worst(name, judged)
        if name not in limits:
            verdict = Verdict(Outcome.NOT_EXERCISED, reason=f"it does not stand in the profile {site.limits.value!r}")
        expected, why = _held_against(wanted.get(name), verdict)
        rows.append(
            Row(name, verdict, expected, bool(why), why, limits.get(name), site.limits, requirement.run, section)
        )
    return tuple(rows)


def _worst(name: str, judged: Sequence[Judged]) -> tuple[Verdict, int]:
    found: Verdict | None = None
    section = 0
    for k, (_, verdicts) in enumerate(judged):
        if name in verdicts:
            worst = worse(found, verdicts[name])
            if worst is not found:
                found, section = worst, k
    return found or Verdict(Outcome.NOT_EXERCISED, reason="nothing was touched"), section


def _held_against(wanted: Expectation | None, verdict: Verdict) -> tuple[str | None, str]:
    """The expectation as text, and why the verdict differs from it ("" if it does not)."""
    got = verdict.outcome
    if wanted is None:
        return None, f"not expected to fail: {verdict.failure}" if got is Outcome.FAIL else ""
    named = f"fail: {wanted.failure}" if wanted.failure is not None else "fail"
    expected = "pass" if wanted.outcome is Expected.PASS else named
    if got in (Outcome.NOT_EXERCISED, Outcome.UNDETERMINED):
        return expected, f"{got.value}: {verdict.reason}" if verdict.reason else got.value
    if wanted.outcome is Expected.PASS:
        return expected, f"failed: {verdict.failure}" if got is Outcome.FAIL else ""
    if got is Outcome.PASS:
        return expected, "passed although a failure was expected"
    same = wanted.failure in (None, verdict.failure)
    return expected, "" if same else f"failed otherwise: {verdict.failure}"


# --- a finished trace ------------------------------------------------------------------------------------------------


def judge_trace(
    sections: Sequence[Section], site: Site, expect: Sequence[Expectation] = (), signals: Iterable[str] | None = None
) -> tuple[Row, ...]:
    """Judge a trace from anywhere by the same requirements: a fold over the same monitors.

    `signals`: the names of the event kinds that its source can give (None: all).  A requirement that needs others is
    undetermined, and
    so is one on a single means where something was touched and there is no fork with the other means silent.
    """
    whole, forks = sections[0], sections[1:]
    judge = Judge.begin(site, expect)
    twins: dict[int, Judge] = {}
    for number in range(len(whole.events) + 1):
        for k, section in enumerate(forks):
            if section.after == number:
                twins[k] = judge.twin(section.run)
        if number < len(whole.events):
            judge.see(number, *whole.events[number])
    judged: list[Judged] = [(Run.WHOLE, judge.verdicts(whole.ends))]
    for k, section in enumerate(forks):
        for number, (at, event) in enumerate(section.events, section.after):
            twins[k].see(number, at, event)
        judged.append((section.run, twins[k].verdicts(section.ends)))
    touched = any(type(stamped.event) is ContactBegan for stamped in whole.events)
    lacking: set[Run] = {
        run for run in Run if run is not Run.WHOLE and touched and all(one.run is not run for one in forks)
    }
    given = None if signals is None else frozenset(signals)
    return compare(site, expect, _blinded(judged, given, lacking, judge))


def _blinded(
    judged: list[Judged], signals: frozenset[str] | None, lacking: set[Run], judge: Judge
) -> list[Judged]:
    """The same verdicts, undetermined where the trace cannot tell."""
    blind: dict[str, str] = {}
    for name, requirement in requirements().items():
        if requirement.whole_gate and judge.site.second_leaf is None:
            continue  # nothing to see, and nothing to miss
        missing = [kind.__name__ for kind in requirement.needs if signals is not None and kind.__name__ not in signals]
        if missing:
            blind[name] = f"the trace has no {', '.join(dict.fromkeys(missing))}"
        elif requirement.run in lacking:
            blind[name] = "the trace has no fork with the other means silent"
    changed = [
        (run, {name: verdict for name, verdict in verdicts.items() if name not in blind}) for run, verdicts in judged
    ]
    for name, why in blind.items():
        if name in judge.limits:
            changed[0][1][name] = Verdict(Outcome.UNDETERMINED, reason=why)
    return changed
