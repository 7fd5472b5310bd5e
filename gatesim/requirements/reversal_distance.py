"""The reversal covers its distance."""

from __future__ import annotations

from typing import ClassVar

from gatesim.events import Direction
from gatesim.plant.site import Profile
from gatesim.requirements.disturbances import guarding
from gatesim.requirements.going_back import BackState, GoingBack, edge_pressed
from gatesim.requirements.monitor import at_least, held
from gatesim.requirements.profiles import REVERSAL_DISTANCE, both
from gatesim.requirements.requirement import Limit, Source
from gatesim.requirements.verdict import Verdict


class ReversalDistance(GoingBack):
    """After a demand while closing: from the deepest place to rest at least 2 in, or to the open end, with the edge
    free again.

    The clause is about constant-pressure horizontally sliding garage doors.
    """

    id: ClassVar[str] = "reversal-distance"
    sentence: ClassVar[str] = "After a demand while closing, the leaf goes back far enough, and the edge is free again."
    quantity: ClassVar[str] = "deepest place to rest"
    failures: ClassVar[tuple[str, ...]] = ("too short", "edge still pressed")
    source: ClassVar[Source] = REVERSAL_DISTANCE
    least: ClassVar[bool] = True
    direction: ClassVar[Direction] = Direction.CLOSING

    def limits(self) -> dict[Profile, Limit | None]:
        """2 in."""
        return both(50_800, REVERSAL_DISTANCE)

    def judged(self, state: BackState, distance: int, number: int) -> Verdict:
        """Far enough, or as far as there is."""
        if any(edge in guarding(state.site, self.direction) for edge in state.pressed):
            return edge_pressed(state, number)
        evidence = (*state.evidence, number)
        verdict = at_least(distance, state.limit, "too short", state.asked, evidence)
        if verdict.failure and state.driving.completed:
            return held(state.asked, evidence, "the open end came first")
        return verdict


REQUIREMENT = ReversalDistance()
