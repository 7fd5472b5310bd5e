"""A controller that sees the beginning of a press only."""

from __future__ import annotations

from doubled import Doubled, DoubledController

from gatesim.events import Level
from gatesim.plant.logic.contract import ControllerSeen


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
