"""A controller that sees the beginning of a press only."""

from __future__ import annotations

from gatesim.events import Level
from gatesim.plant.logic.contract import ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class EdgeTriggered(DoubledController):
    """A press that lasts is none."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        was, state.note = state.note, tuple([report.level for report in seen.reports])
        reports = tuple(
            [
                report._replace(level=Level.REST) if report.level is Level.PRESSED and report.level is old else report
                for report, old in zip(seen.reports, was or state.note, strict=True)
            ]
        )
        return seen._replace(reports=reports)


DOUBLE = Double(
    "controller-edge-triggered",
    Role.CONTROLLER,
    "R2",
    bug="Only the beginning of a press counts, so a lasting short is none.",
    differs="Takes a level that has not changed since the last call for rest.",
    make=EdgeTriggered,
    shown_by="stays-pressed",
)
