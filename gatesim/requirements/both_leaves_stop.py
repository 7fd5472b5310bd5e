"""A demand on either leaf stops both."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Event, FoundBy, LeafName
from gatesim.plant.part import owned, state
from gatesim.plant.site import Profile, Site
from gatesim.requirements import disturbances as f
from gatesim.requirements import driving as d
from gatesim.requirements.leaf_view import ends_at_start, seen_from
from gatesim.requirements.monitor import Monitor, Tally, at_most, waiting
from gatesim.requirements.profiles import OURS, both
from gatesim.requirements.requirement import Limit, Source
from gatesim.requirements.verdict import Measure, Verdict


@state
class BothState:
    """A demand, and both leaves since."""

    limit: int | None
    site: Site
    driving: d.Driving = owned()
    """Of the first leaf, which knows whether the other one moves."""
    tally: Tally = owned()
    edge: str = ""
    """That was actuated; "" for the force sensing."""
    at: int = -1
    number: int = 0


class BothLeavesStop(Monitor):
    """From an edge of either leaf actuated, or a trip of either force sensing, against the movement under way, until
    both leaves stand.  That both then go back is judged leaf by leaf.  Not judged: a press too short to be felt.
    """

    id: ClassVar[str] = "both-leaves-stop"
    sentence: ClassVar[str] = "A demand on either of two leaves stops both in time."
    quantity: ClassVar[str] = "demand to standstill of both leaves"
    measure: ClassVar[Measure] = Measure.US
    failures: ClassVar[tuple[str, ...]] = ("too late", "a leaf goes on")
    source: ClassVar[Source] = OURS
    whole_gate: ClassVar[bool] = True
    sees: ClassVar[tuple[type, ...]] = (*d.SEES, *d.DEMAND_SEES, e.EdgeReleased)
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.EdgeActuated)
    idle: ClassVar[str] = "there are no two leaves, or no demand came while they moved"

    def limits(self) -> dict[Profile, Limit | None]:
        """1 s, as for a stop."""
        return both(1_000_000, OURS)

    def begin(self, limit: int | None, site: Site) -> BothState:
        """At rest."""
        driving = d.Driving(ends=ends_at_start(site, LeafName.FIRST))
        return BothState(limit, site, driving, Tally())

    def see(self, state: BothState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        if state.site.second_leaf is None:
            return
        if isinstance(event, e.EdgeActuated | e.ForceTripped) and state.at < 0 and state.driving.goes(event.direction):
            state.at, state.number, state.edge = at, number, getattr(event, "edge", "")
        state.driving.see(at, seen_from(LeafName.FIRST, event))
        if state.at < 0:
            return
        if isinstance(event, e.PowerLost):
            state.at, state.tally.skipped = -1, "the supply was lost first"
        elif isinstance(event, e.EdgeReleased) and event.edge == state.edge and state.driving.order is not None:
            if at - state.at < f.known_in_motion(state.site, event.edge, FoundBy.CONTINUOUSLY):
                state.at, state.tally.skipped = -1, "it was let go before it could be felt"
        elif state.driving.resting:
            state.tally.take(at_most(at - state.at, state.limit, "too late", state.at, (state.number, number)))
            state.at = -1

    def open_cases(self, state: BothState, now: int) -> Iterator[Verdict]:
        """A leaf still moves."""
        if state.at >= 0:
            yield waiting(state.at, now, state.limit, "a leaf goes on", (state.number,))


REQUIREMENT = BothLeavesStop()
