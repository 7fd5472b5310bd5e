"""A controller that ignores a trip that does not go away."""

from __future__ import annotations

from gatesim.plant.logic.contract import ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class ForgetsTrip(DoubledController):
    """A trip counts for one second."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        since = state.note[0] if state.note and seen.force else now
        state.note = (since,) if seen.force else ()
        return seen._replace(force=seen.force and now - since < 1_000_000)


DOUBLE = Double(
    "controller-forgets-trip",
    Role.CONTROLLER,
    "A8",
    bug="A signal that never goes away is dropped as implausible instead of being a fault.",
    differs="Ignores a force trip that has lasted one second.",
    make=ForgetsTrip,
    shown_by="force-trip-stuck",
)
