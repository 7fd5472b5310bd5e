"""A controller for which no failed test is a passed one."""

from __future__ import annotations

from gatesim.plant.logic.contract import ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class SkipsTests(DoubledController):
    """Takes every device for tested."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        return seen._replace(reports=tuple([report._replace(answered=1 << 30) for report in seen.reports]))


DOUBLE = Double(
    "controller-skips-tests",
    Role.CONTROLLER,
    "X7",
    bug="No failed test is taken for a passed one.",
    differs="Takes every device for having answered every test.",
    make=SkipsTests,
    shown_by="lost-link-closing",
)
