"""A controller for which critical is a lamp."""

from __future__ import annotations

from doubled import Doubled, DoubledController

from gatesim.plant.logic.contract import ControllerSeen


class CriticalIsALamp(DoubledController):
    """Does nothing about a critical cell."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        return seen._replace(reports=tuple([report._replace(critical=False) for report in seen.reports]))
