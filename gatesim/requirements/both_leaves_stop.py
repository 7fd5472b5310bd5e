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
    device: str = ""
    """The edge that was actuated or the beam; "" for the force sensing."""
    at: int = -1
    number: int = 0


class BothLeavesStop(Monitor):
    """From an edge of either leaf actuated, a trip of either force sensing, or a beam interrupted, against the movement
    under way, until both leaves stand.  That both then go back is judged leaf by leaf.  Not judged: a press or an
    interruption too short to be noticed.
    """

    id: ClassVar[str] = "both-leaves-stop"
    sentence: ClassVar[str] = "A demand on either of two leaves, or an interrupted beam of either, stops both in time."
    quantity: ClassVar[str] = "demand to standstill of both leaves"
    measure: ClassVar[Measure] = Measure.US
    failures: ClassVar[tuple[str, ...]] = ("too late", "a leaf goes on")
    source: ClassVar[Source] = OURS
    whole_gate: ClassVar[bool] = True
    sees: ClassVar[tuple[type, ...]] = (*d.SEES, *d.DEMAND_SEES, e.EdgeReleased, e.BeamInterrupted, e.BeamCleared)
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
        if state.at < 0 and self._met(event, state.driving):
            state.at, state.number = at, number
            state.device = getattr(event, "edge", "") or getattr(event, "beam", "")
        state.driving.see(at, seen_from(LeafName.FIRST, event))
        if state.at < 0:
            return
        if isinstance(event, e.PowerLost):
            state.at, state.tally.skipped = -1, "the supply was lost first"
        elif self._gone(event) == state.device != "" and state.driving.order is not None:
            if at - state.at < self._noticed(state):
                state.at, state.tally.skipped = -1, "it was gone before it could be noticed"
        elif state.driving.resting:
            state.tally.take(at_most(at - state.at, state.limit, "too late", state.at, (state.number, number)))
            state.at = -1

    def _met(self, event: Event, driving: d.Driving) -> bool:
        """Whether an event is against the movement of either leaf."""
        return isinstance(event, e.EdgeActuated | e.ForceTripped | e.BeamInterrupted) and driving.goes(event.direction)

    def _gone(self, event: Event) -> str:
        """The edge that is let go, or the beam whose ray is clear again."""
        if isinstance(event, e.EdgeReleased):
            return event.edge
        return event.beam if isinstance(event, e.BeamCleared) else ""

    def _noticed(self, state: BothState) -> int:
        """The age (us) from which what was pressed or interrupted must be known."""
        beam = f.beam_of(state.site, state.device)
        if beam is not None:
            return f.seen_by(beam)
        return f.known_in_motion(state.site, state.device, FoundBy.CONTINUOUSLY)

    def open_cases(self, state: BothState, now: int) -> Iterator[Verdict]:
        """A leaf still moves."""
        if state.at >= 0:
            yield waiting(state.at, now, state.limit, "a leaf goes on", (state.number,))


REQUIREMENT = BothLeavesStop()
