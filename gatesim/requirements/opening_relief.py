"""The relief after a demand while opening stays a relief."""

from __future__ import annotations

from typing import ClassVar

from gatesim.events import Direction, Side
from gatesim.requirements.disturbances import guarding
from gatesim.requirements.driving import run_out
from gatesim.requirements.going_back import BackState, GoingBack, edge_pressed
from gatesim.requirements.monitor import at_most, failed
from gatesim.requirements.profiles import OURS
from gatesim.requirements.requirement import Source
from gatesim.requirements.verdict import Verdict
from gatesim.units import us


class OpeningRelief(GoingBack):
    """After a demand while opening: back until the edge is free, and never farther than the site's relief distance and
    the run-out of
    the stop: more would be an unattended closing onto whoever stands in the opening.
    """

    id: ClassVar[str] = "opening-relief"
    sentence: ClassVar[str] = (
        "After a demand while opening, the leaf goes back by the relief distance only, and frees the edge."
    )
    quantity: ClassVar[str] = "deepest place to rest"
    failures: ClassVar[tuple[str, ...]] = ("too far", "edge still pressed", "closed end reached")
    source: ClassVar[Source] = OURS
    direction: ClassVar[Direction] = Direction.OPENING
    untouched: ClassVar[bool] = True

    def judged(self, state: BackState, distance: int, number: int) -> Verdict:
        """Not too far, and free."""
        evidence = (*state.evidence, number)
        # Of two leaves one may come to its closed end in the overlap; the gate is not closed by that.
        if state.driving.completed and state.driving.ends in (None, (Side.CLOSED, Side.CLOSED)):
            return failed("closed end reached", state.asked, evidence)
        if any(edge in guarding(state.site, self.direction) for edge in state.pressed):
            return edge_pressed(state, number)
        own = us(state.site.controller.opening_relief) + run_out(state.site)
        limit = own if state.limit is None else min(own, state.limit)
        return at_most(distance, limit, "too far", state.asked, evidence)


REQUIREMENT = OpeningRelief()
