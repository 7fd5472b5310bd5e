"""A controller that sees one chain of contacts."""

from __future__ import annotations

from gatesim.plant.logic.contract import ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class GroupContact(DoubledController):
    """One level for each direction."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        edges = state.memory.settings.edges
        last = {edge.direction: one.level for edge, one in zip(edges, seen.reports, strict=True)}
        reports = [
            one._replace(level=last[edge.direction]) for edge, one in zip(edges, seen.reports, strict=True)
        ]
        return seen._replace(reports=tuple(reports))


DOUBLE = Double(
    "controller-group-contact",
    Role.CONTROLLER,
    "X6",
    bug="Several devices are one chain, and the last one speaks for all.",
    differs="Takes the report of the last edge of a direction for that of every edge of the direction.",
    make=GroupContact,
    shown_by="two-edges-in-parallel",
)
