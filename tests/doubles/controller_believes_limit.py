"""A controller that believes its limit switches."""

from __future__ import annotations

from doubled import Doubled, DoubledController

from gatesim.plant.logic.contract import ControllerSeen


class BelievesLimit(DoubledController):
    """A closed switch is the place."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        if seen.at_closed and seen.at_open:
            return seen._replace(position=0.0, at_open=False)
        if seen.at_closed:
            return seen._replace(position=0.0)
        return seen._replace(position=state.memory.settings.travel) if seen.at_open else seen
