"""A sweep as cases: one for each row, pair and combination, and one for what was not made.

A row is good only where it is as its catalogue entry lets expect, and time did not end first: what is incomplete is an
error here although the exit code leaves it out, for a reader of cases knows no third state.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from gatesim.report.cases import NOT_JUDGED, Case, Cases, Finding, Note, Place, Rule, Suite, Weight, command_line
from gatesim.report.cases import facts_of as _facts
from gatesim.report.sweep_json import pair_json, row_json, way_json
from gatesim.report.sweep_json import spans as _spans
from gatesim.search.classes import Class
from gatesim.search.moments import Coverage
from gatesim.search.pairs import Paired, PairRow
from gatesim.search.sweep import Row, Swept
from gatesim.search.ways import WayRow, Ways


class Origin(NamedTuple):
    """What was swept: the file as given, where its devices stand, and the command line but for the faults."""

    file: str
    site_file: str
    devices: Mapping[str, tuple[int, int]]
    options: tuple[str, ...]
    can_write: bool
    """Whether --write gives the worst moments of it."""

    def place(self, device: str) -> Place:
        """The device's table in the site's file, or the file."""
        at = self.devices.get(device)
        return Place(self.file) if at is None else Place(self.site_file, *at)

    def again(self, *faults: str) -> str:
        """The command that does the same for these faults only."""
        asked = [word for fault in dict.fromkeys(faults) for word in ("--fault", fault)]
        more = ("--write", ".") if self.can_write and len(faults) == 1 else ()
        return command_line("gatesim", "sweep", self.file, *asked, *self.options, *more)


def sweep_cases(
    swept: Swept,
    version: str,
    origin: Origin,
    sentences: Mapping[str, str],
    paired: Paired | None = None,
    ways: Ways | None = None,
) -> Cases:
    """`sentences`: for each fault kind what correct logic must do, in words."""
    suites = [*_by_ground(swept, origin, sentences)]
    missing = [("rows", swept.summary.missing)]
    if paired is not None:
        missing.append(("pairs", paired.missing))
        suites.append(Suite(f"{swept.site}: pairs", origin.file, _facts([("seed", swept.seed)]),
                            tuple(_pair(swept, row, origin, sentences) for row in paired.rows)))
    if ways is not None:
        missing.append(("combinations", ways.missing))
        suites.append(Suite(f"{swept.site}: combinations", origin.file, _facts([("seed", swept.seed)]),
                            tuple(_way(swept, row, origin) for row in ways.rows)))
    suites.append(Suite(f"{swept.site}: completeness", origin.file, _facts([("seed", swept.seed)]),
                        tuple(_made(swept, what, count, origin) for what, count in missing)))
    return Cases("sweep", version, tuple(suites), tuple(_notes(swept, origin, paired)), _closing(swept))


def _closing(swept: Swept) -> str:
    counts = ", ".join(f"{count} {one.value}" for one, count in swept.summary.outcomes.items() if count)
    differ = sum(row.differs for row in swept.rows)
    incomplete = sum(row.coverage is Coverage.INCOMPLETE for row in swept.rows)
    return (f"{len(swept.rows)} rows: {counts}; {differ} differ, {incomplete} incomplete, "
            f"{swept.summary.missing} not made; seed {swept.seed}")


def _by_ground(swept: Swept, origin: Origin, sentences: Mapping[str, str]) -> Iterator[Suite]:
    """A suite for each move; the moves of a scenario are told apart by their windows as well."""
    heads = {(row.direction, row.phase, row.window): f"{row.direction.value}, {row.phase.value}" for row in swept.rows}
    for ground, head in heads.items():
        if list(heads.values()).count(head) > 1:
            head += f", from {ground[2][0]} us"
        rows = [row for row in swept.rows if (row.direction, row.phase, row.window) == ground]
        cases = tuple(_row(swept, row, head, origin, sentences) for row in rows)
        yield Suite(f"{swept.site}: {head}", origin.file, _facts([("seed", swept.seed)]), cases)


def _row(swept: Swept, row: Row, head: str, origin: Origin, sentences: Mapping[str, str]) -> Case:
    lasts = "" if row.duration == "permanent" else f" ({row.duration})"
    name = f"{row.fault}, {row.device}{lasts}"
    facts = _flat({**row_json(row), "residual risk": "yes" if row.residual else None, "seed": swept.seed})
    why = _wrong(row, "which its catalogue entry does not let expect")
    if why is None:
        return Case(name, (), facts)
    weight, said = why
    lines = (f"{head}: {name}", *_figures(row), sentences.get(row.fault, ""), f"Seed {swept.seed}.",
             f"Run it again: {origin.again(row.fault)}")
    title, place = f"{name}, {said}", origin.place(row.device)
    return Case(name, (Finding(weight, _rule(row.fault, sentences), title, place, _kept(lines), swept.seed),), facts)


def _pair(swept: Swept, row: PairRow, origin: Origin, sentences: Mapping[str, str]) -> Case:
    second = f"{row.then}, {row.then_device}" if row.then_device else row.then
    name = f"{row.fault}, {row.device}; then {second}; {row.direction.value}, {row.when.value}"
    facts = _flat({**pair_json(row), "residual risk": "yes" if row.graver else None, "seed": swept.seed})
    why = _wrong(row, "which is to be told")
    if why is None:
        return Case(name, (), facts)
    weight, said = why
    faults = (row.fault, row.then) if row.then_device else (row.fault,)
    lines = (name, *_figures(row), f"Seed {swept.seed}.", f"Run it again: {origin.again(*faults)} --pairs")
    title, place = f"{name}: {said}", origin.place(row.device)
    return Case(name, (Finding(weight, _rule(row.fault, sentences), title, place, _kept(lines), swept.seed),), facts)


def _way(swept: Swept, row: WayRow, origin: Origin) -> Case:
    name = ", ".join(f"{factor}={value}" for factor, value in row.values.items())
    facts = _flat({**way_json(row), "values": None, "seed": swept.seed})
    if not row.differs:
        return Case(name, (), facts)
    weight = Weight.ERROR if row.outcome is Class.UNDETERMINED else Weight.FAILURE
    lines = (name, f"{row.outcome.value}: {row.why}", f"Seed {swept.seed}.")
    rule = Rule("combination", "Faults that are all found are answered together as each is alone.", "ours")
    title = f"combination: {row.outcome.value}"
    return Case(name, (Finding(weight, rule, title, Place(origin.file), lines, swept.seed),), facts)


def _made(swept: Swept, what: str, missing: int, origin: Origin) -> Case:
    name = f"all {what} made"
    if not missing:
        return Case(name)
    said = f"{missing} {what} were not made: what is not here is not known"
    lines = (said, f"Seed {swept.seed}.", f"Run it again: {origin.again()}")
    return Case(name, (Finding(Weight.ERROR, NOT_JUDGED, said, Place(origin.file), lines, swept.seed),))


def _wrong(row: Row | PairRow, unexpected: str) -> tuple[Weight, str] | None:
    """What is not good about a row: the weight, and the words."""
    if row.differs:
        weight = Weight.ERROR if row.outcome is Class.UNDETERMINED else Weight.FAILURE
        return weight, f"{row.outcome.value}, {unexpected}"
    if row.coverage is Coverage.INCOMPLETE:
        return Weight.ERROR, f"incomplete: {row.outcome.value} at the moments tried, and the rest is not known"
    return None


def _figures(row: Row | PairRow) -> Iterator[str]:
    worst = row.worst
    if worst is not None:
        if worst.why:
            yield worst.why
        if worst.measured is not None and worst.limit is not None:
            margin = worst.limit - worst.measured
            yield (f"{worst.requirement}: measured {worst.measured / 1000:.3f} ms, limit {worst.limit / 1000:.3f} ms, "
                   f"margin {margin / 1000:+.3f} ms")
        yield f"worst with the fault at {worst.at / 1e6:.6f} s"
    yield f"coverage {row.coverage.value}{': ' + row.why if row.why else ''}; {row.runs} runs"
    if row.gaps:
        first, last = row.gaps[0]
        yield f"gaps: {len(row.gaps)}, the first from {first / 1e6:.6f} s to {last / 1e6:.6f} s"


def _rule(fault: str, sentences: Mapping[str, str]) -> Rule:
    return Rule(fault, sentences.get(fault, "") or fault, "the fault catalogue")


def _kept(lines: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(line for line in lines if line))


def _notes(swept: Swept, origin: Origin, paired: Paired | None) -> Iterator[Note]:
    rows = [row for row in swept.rows if row.residual]
    if rows:
        yield Note(f"residual risk: {len(rows)} rows",
                   ("unannounced, and a contact meanwhile was not met by every means",
                    *(f"{row.fault}, {row.device}, {row.direction.value}: found {row.found.value}" for row in rows)),
                   Place(origin.file))
    graver = [] if paired is None else [row for row in paired.rows if row.graver]
    if graver:
        yield Note(f"residual risk: {len(graver)} pairs",
                   ("together graver than each alone",
                    *(f"{row.fault}, {row.device}, then {row.then}: {row.outcome.value}" for row in graver)),
                   Place(origin.file))


def _flat(said: Mapping[str, Any]) -> tuple[tuple[str, str], ...]:
    """What a JSON row says, as facts."""
    made: list[tuple[str, object]] = []
    for name, value in said.items():
        if isinstance(value, dict):
            made += [(f"{name} {inner}", one) for inner, one in value.items()]
        else:
            made.append((name, _spans(value) if name in ("window_us", "gaps_us") else value))
    return _facts(made)
