"""A controller that looks at its end switches and not at the motion."""

from __future__ import annotations

from gatesim.plant.logic.contract import ControllerSeen
from gatesim.search.doubles.base import Double, Doubled, DoubledController, Role


class EndsOnly(DoubledController):
    """The leaf moves, so it moves as ordered."""

    def image(self, state: Doubled, seen: ControllerSeen, now: float) -> ControllerSeen:
        order = state.done.order
        return seen._replace(motion=order) if seen.motion is not None and order is not None else seen


DOUBLE = Double(
    "controller-ends-only",
    Role.CONTROLLER,
    "L12",
    bug="Only the end switches are looked at, so a drive that turns the wrong way is not noticed.",
    differs="Takes whatever motion there is for the ordered one.",
    make=EndsOnly,
    shown_by="drive-direction-swapped",
)
