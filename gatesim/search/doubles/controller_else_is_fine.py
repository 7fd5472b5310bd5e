"""A controller whose last branch is \"in order\"."""

from __future__ import annotations

from gatesim.events import Level
from gatesim.plant.logic.contract import ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role, each_report


class ElseIsFine(DoubledController):
    """Neither pressed nor open nor high: so it is fine."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        return each_report(seen, lambda one: one._replace(level=Level.REST) if one.level is Level.INVALID else one)


DOUBLE = Double(
    "controller-else-is-fine",
    Role.CONTROLLER,
    "L9",
    bug="A status that no branch knows falls to \"in order\".",
    differs="Takes an invalid reading for rest.",
    make=ElseIsFine,
    shown_by="over-range-code",
)
