"""A controller that trusts in its force sensing."""

from __future__ import annotations

from gatesim.events import Level
from gatesim.plant.logic.contract import ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class TrustsForce(DoubledController):
    """Ignores the edges."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        return seen._replace(reports=tuple([report._replace(level=Level.REST) for report in seen.reports]))


DOUBLE = Double(
    "controller-trusts-force",
    Role.CONTROLLER,
    "X2",
    bug="The edges are left out because there is force sensing.",
    differs="Takes every edge for at rest.",
    make=TrustsForce,
    shown_by="first-look",
)
