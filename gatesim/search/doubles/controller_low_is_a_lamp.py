"""A controller for which low is a lamp."""

from __future__ import annotations

from gatesim.plant.logic.contract import ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class LowIsALamp(DoubledController):
    """Says nothing of a low cell."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        return seen._replace(reports=tuple([report._replace(low=False) for report in seen.reports]))


DOUBLE = Double(
    "controller-low-is-a-lamp",
    Role.CONTROLLER,
    "P1",
    bug="A low cell is shown nowhere that people look.",
    differs="Says nothing about a low cell.",
    make=LowIsALamp,
    shown_by="battery-low-closing",
)
