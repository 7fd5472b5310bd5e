"""From a run to what the renderers take: verdicts with definition and proof, the trace's hash, residual risk."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from gatesim import trace
from gatesim.events import Run, Stamped
from gatesim.plant.fault import Fault
from gatesim.report.cells import witnessed
from gatesim.report.figures import instant
from gatesim.report.judged import RESIDUAL, Judged, JudgedRow, Proof, Residual
from gatesim.report.words import tell
from gatesim.requirements.judging import Row
from gatesim.requirements.requirement import Requirement
from gatesim.run import RunResult
from gatesim.scenario.model import Fault as FaultStep
from gatesim.scenario.model import Scenario
from gatesim.search.site_hash import site_hash
from gatesim.trace import Section


def trace_of(run: RunResult) -> bytes:
    """The bytes of a run's trace file."""
    return trace.write(story_of(run))


def story_of(run: RunResult) -> trace.Story:
    """What a run's trace file says."""
    return trace.Story(run.scenario.site.name, run.seed, run.scenario.title, run.sections)


def assemble(file: str, run: RunResult, requirements: Mapping[str, Requirement], faults: Mapping[str, Fault]) -> Judged:
    """One scenario's result; `file` as the user gave it."""
    scenario = run.scenario
    return Judged(
        file=file,
        title=scenario.title,
        seed=run.seed,
        rows=judged_rows(run.rows, run.sections, requirements, _places(scenario)),
        sha256=trace.digest(story_of(run)),
        residual=_residual(scenario, faults),
        claims=scenario.covers,
        witnessed=witnessed(run.sections[0].events, scenario.site) if scenario.covers else frozenset(),
        site_sha256=site_hash(scenario.site),
    )


def judged_rows(
    rows: Sequence[Row],
    sections: Sequence[Section],
    requirements: Mapping[str, Requirement],
    places: Mapping[str | None, tuple[int, int]] = MappingProxyType({}),
) -> tuple[JudgedRow, ...]:
    """Each row with its requirement, the events that prove it and the place of its expectation; `places`: by the
    requirement's id, under None that of the list."""
    return tuple(
        JudgedRow(
            requirements[row.requirement],
            row.verdict,
            row.expected,
            row.differs,
            row.why,
            row.profile.value,
            tuple(_proof(_event(sections, row.section, number)) for number in row.verdict.evidence),
            places.get(row.requirement, places.get(None, (0, 0))),
        )
        for row in rows
    )


def _places(scenario: Scenario) -> dict[str | None, tuple[int, int]]:
    """Where each expectation stands, and under None the list of them."""
    names = [*(expectation.requirement for expectation in scenario.expect), None]
    return dict(zip(names, scenario.expected_at, strict=False))  # a scenario from no file has no places


def _event(sections: Sequence[Section], place: int, number: int) -> Stamped:
    """The event that a twin counts as `number`: before the fork it is one of the whole run."""
    section = sections[place]
    if number < section.after:
        return sections[0].events[number]
    return section.events[number - section.after]


def _proof(stamped: Stamped) -> Proof:
    who, sentence = tell(stamped.event)
    return Proof(stamped.at, who, sentence, trace.line(stamped))


def _residual(scenario: Scenario, faults: Mapping[str, Fault]) -> tuple[Residual, ...]:
    met = dict.fromkeys(step.fault for step in scenario.steps if isinstance(step, FaultStep))
    kinds = [faults[name] for name in met if name in faults]
    return tuple(Residual(kind.id, kind.title, kind.found) for kind in kinds if kind.found in RESIDUAL)


def heads(run: RunResult, every: bool) -> list[tuple[str, Section]]:
    """The sections that are told, each with its heading: the whole run, and the twins where every event is wanted."""
    told = []
    for section in run.sections:
        if section.run is Run.WHOLE:
            told.append(("The run", section))
        elif every:
            since = instant(section.fork or 0)
            told.append((f"The same from {since} on, {section.run.value}: the other means is held silent", section))
    return told
