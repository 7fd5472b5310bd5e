"""A controller with one status for everything."""

from __future__ import annotations

from gatesim.events import Level
from gatesim.plant.logic.contract import ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role, each_report


class OneStatus(DoubledController):
    """Low is written over pressed."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        return each_report(seen, lambda one: one._replace(level=Level.REST) if one.low else one)


DOUBLE = Double(
    "controller-one-status",
    Role.CONTROLLER,
    "L6",
    bug="One status code holds either the battery or the contact.",
    differs="Takes an edge for at rest while its cell is low.",
    make=OneStatus,
    shown_by="low-cell-and-contact",
)
