"""A controller for which critical is a lamp."""

from __future__ import annotations

from gatesim.plant.logic.contract import ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class CriticalIsALamp(DoubledController):
    """Does nothing about a critical cell."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        return seen._replace(reports=tuple([report._replace(critical=False) for report in seen.reports]))


DOUBLE = Double(
    "controller-critical-is-a-lamp",
    Role.CONTROLLER,
    "P1",
    bug="An empty cell only lights a lamp.",
    differs="Does nothing about a critical cell.",
    make=CriticalIsALamp,
    shown_by="cell-critical",
)
