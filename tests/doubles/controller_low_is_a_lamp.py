"""A controller for which low is a lamp."""

from __future__ import annotations

from doubled import Doubled, DoubledController

from gatesim.plant.logic.contract import ControllerSeen


class LowIsALamp(DoubledController):
    """Says nothing of a low cell."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        return seen._replace(reports=tuple([report._replace(low=False) for report in seen.reports]))
