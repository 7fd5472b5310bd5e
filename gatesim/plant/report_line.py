"""What receivers and wired inputs share in telling the controller about an edge."""

from __future__ import annotations

from gatesim.events import Level, ReportChanged
from gatesim.plant.logic.contract import Report
from gatesim.plant.part import Out


def unheard(edge: str, asked: bool) -> Report:
    """The report about an edge of which nothing has been heard since power-up: never healthy."""
    return Report(edge, Level.INVALID, False, False, False, False, 0, asked)


def said(report: Report) -> ReportChanged:
    """What of a report is an event when it changes (an answer to a test request is not)."""
    return ReportChanged(report.edge, report.level, report.heard, report.fresh, report.low, report.critical)


def tell(out: Out, before: tuple[Report, ...], after: tuple[Report, ...]) -> None:
    """Put the reports on output wires 0, 1, … and record what changed."""
    for k, report in enumerate(after):
        if report != before[k]:
            if said(report) != said(before[k]):
                out.event(said(report))
            out.put(k, report)
