"""A controller that mutes its edges near the end."""

from __future__ import annotations

from gatesim.events import Level
from gatesim.plant.logic.contract import ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role, each_report


class MutesEnd(DoubledController):
    """Near the post a press is the post."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        if not seen.position_known or seen.position > 600_000:
            return seen
        quiet = each_report(seen, lambda one: one._replace(level=Level.REST) if one.level is Level.PRESSED else one)
        return quiet._replace(force=False)


DOUBLE = Double(
    "controller-mutes-end",
    Role.CONTROLLER,
    "L8",
    bug="A muting zone is bounded by the measured position alone.",
    differs="Ignores edges and force sensing within 600 mm of the closed end.",
    make=MutesEnd,
    shown_by="overtravel-enough",
)
