"""A controller for which no failed test is a passed one."""

from __future__ import annotations

from doubled import Doubled, DoubledController

from gatesim.plant.logic.contract import ControllerSeen


class SkipsTests(DoubledController):
    """Takes every device for tested."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        return seen._replace(reports=tuple([report._replace(answered=1 << 30) for report in seen.reports]))
