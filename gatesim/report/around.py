"""One verdict for whoever sees it fail: what was expected, by how much it was missed, the story around it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from gatesim.events import Stamped
from gatesim.plant.site import Site
from gatesim.report.check_text import draw_row
from gatesim.report.folded import printable
from gatesim.report.judged import JudgedRow
from gatesim.report.plain import Plain
from gatesim.report.run_text import Line, story
from gatesim.trace import Section

CONTEXT = 3
"""Lines told before and after each line that proves a verdict (ours)."""
LAST = 6
"""Lines told of a run in which nothing proves the verdict (ours)."""


def events_of(sections: Sequence[Section], place: int) -> Sequence[Stamped]:
    """All events that the judge of a section saw: a twin's begin with those of the whole run before it."""
    section, whole = sections[place], sections[0]
    return whole.events if place == 0 else [*whole.events[: section.after], *section.events]


def told(row: JudgedRow, events: Sequence[Stamped], site: Site) -> str:
    """The verdict with its figures, then the lines of the story around what proves it, marked with >."""
    page = Plain()
    draw_row(page, row._replace(evidence=()))
    proofs = sorted({events[number].at for number in row.verdict.evidence if number < len(events)})
    lines = list(story(events, site, everything=False))
    if not proofs:
        last = lines[-LAST:]
        head = f"The end of the run (nothing in it proves this verdict; {len(lines) - len(last)} lines before it):"
        return "\n".join([*_body(page), "", head, *(_said(line, " ") for line in last)])
    return "\n".join([*_body(page), "", "The story around it (> is what proves it):", *_around(lines, proofs)])


def headline(row: JudgedRow) -> str:
    """The verdict on one line: "got fail: too far, expected pass"."""
    got = row.verdict
    outcome = got.outcome.value + (f": {got.failure}" if got.failure else "")
    return printable(f"got {outcome}, expected {row.expected or 'no failure'}")


def _body(page: Plain) -> list[str]:
    """The lines of a page, four columns further left."""
    return [printable(line).removeprefix("    ") for line in page.text().splitlines()]


def _around(lines: Sequence[Line], proofs: Iterable[float]) -> Iterator[str]:
    """The lines near the instants of proof, and how many are left out between them."""
    instants = list(proofs)
    marked = {k for k, line in enumerate(lines) if line.at in instants}
    # An instant of which nothing is told (a frame, a short piece of motion) is shown by its neighbours.
    marked |= {max((k for k, line in enumerate(lines) if line.at <= at), default=0) for at in instants}
    shown = sorted({k for mark in marked for k in range(mark - CONTEXT, mark + CONTEXT + 1) if 0 <= k < len(lines)})
    before = -1
    for k in shown:
        if k - before > 1:
            yield f"    ... {k - before - 1} lines more"
        yield _said(lines[k], ">" if lines[k].at in instants else " ")
        before = k
    if before < len(lines) - 1:
        yield f"    ... {len(lines) - 1 - before} lines more"


def _said(line: Line, mark: str) -> str:
    return f"{mark} {line.at / 1e6:10.3f} s  {line.strip}  {line.who:<10}  {printable(line.sentence)}"
