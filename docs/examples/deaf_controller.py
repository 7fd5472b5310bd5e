"""A controller with a bug: the reference logic, deaf to presses while the gate closes.  See docs/tour.md."""

from __future__ import annotations

from typing import Any

from gatesim.events import Level
from gatesim.plant.logic.contract import ControllerDo, ControllerSeen
from gatesim.plant.logic.controller_reference import ReferenceController


class Deaf(ReferenceController):
    """Takes every press for a loop at rest."""

    def step(self, state: Any, seen: ControllerSeen, now: float) -> tuple[Any, ControllerDo]:
        """One step on an image from which the presses are gone."""
        heard = [
            report._replace(level=Level.REST) if report.level is Level.PRESSED else report for report in seen.reports
        ]
        return super().step(state, seen._replace(reports=tuple(heard)), now)
