"""A controller that ignores a trip that does not go away."""

from __future__ import annotations

from doubled import Doubled, DoubledController

from gatesim.plant.logic.contract import ControllerSeen


class ForgetsTrip(DoubledController):
    """A trip counts for one second."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        since = state.note[0] if state.note and seen.force else now
        state.note = (since,) if seen.force else ()
        return seen._replace(force=seen.force and now - since < 1_000_000)
