"""A controller that trusts in its edges."""

from __future__ import annotations

from gatesim.plant.logic.contract import ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class TrustsEdges(DoubledController):
    """Ignores the force sensing."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        return seen._replace(force=False)


DOUBLE = Double(
    "controller-trusts-edges",
    Role.CONTROLLER,
    "M11",
    bug="The force sensing is left out because there are edges.",
    differs="Ignores the force sensing.",
    make=TrustsEdges,
    shown_by="beyond-the-edge",
)
