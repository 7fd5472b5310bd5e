"""Hold-to-run stops on release."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Direction, Event
from gatesim.plant.part import owned, state
from gatesim.plant.site import Profile, Site
from gatesim.requirements import driving as d
from gatesim.requirements.contacts import still_moving
from gatesim.requirements.monitor import Monitor, Tally, at_most, worse
from gatesim.requirements.profiles import HOLD_TO_RUN, both
from gatesim.requirements.requirement import Limit, Source
from gatesim.requirements.verdict import Measure, Verdict
from gatesim.units import us

_LAST = 500_000


@state
class ReleaseState:
    """A release, where it was, and its limit."""

    limit: int | None
    travel: int
    driving: d.Driving = owned()
    tally: Tally = owned()
    at: int = -1
    number: int = 0
    x: int = 0
    bound: int | None = None


class HoldStopsOnRelease(Monitor):
    """From release to standstill at most 100 mm, half of it in the last 500 mm before the stop ahead (both from
    memory)."""

    id: ClassVar[str] = "hold-stops-on-release"
    sentence: ClassVar[str] = "In hold-to-run the leaf stops within a short distance of the release."
    quantity: ClassVar[str] = "travel after release"
    measure: ClassVar[Measure] = Measure.UM
    failures: ClassVar[tuple[str, ...]] = ("too far",)
    source: ClassVar[Source] = HOLD_TO_RUN
    sees: ClassVar[tuple[type, ...]] = d.SEES
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.MotionChanged, e.CommandReleased)
    idle: ClassVar[str] = "no hold-to-run control was released in motion"

    def limits(self) -> dict[Profile, Limit | None]:
        """100 mm; half of the figure near the end."""
        return both(100_000, HOLD_TO_RUN)

    def begin(self, limit: int | None, site: Site) -> ReleaseState:
        """Nothing held."""
        return ReleaseState(limit, us(site.gate.travel), d.Driving(), Tally())

    def see(self, state: ReleaseState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        driving = state.driving
        if isinstance(event, e.CommandReleased) and driving.direction is not None and driving.why is d.Why.HOLD:
            if event.command is d.HOLDS[driving.direction] and state.at < 0:
                state.at, state.number, state.x = at, number, driving.position(at)
                left = state.x if driving.direction is Direction.CLOSING else state.travel - state.x
                near = state.limit is not None and left <= _LAST
                state.bound = state.limit // 2 if state.limit is not None and near else state.limit
        elif isinstance(event, e.LeafStopped) and state.at >= 0:
            state.tally.take(self._judged(state, us(event.x), number))
            state.at = -1
        driving.see(at, event)

    def _judged(self, state: ReleaseState, x: int, *numbers: int) -> Verdict:
        return at_most(abs(x - state.x), state.bound, "too far", state.at, (state.number, *numbers))

    def open_cases(self, state: ReleaseState, now: int) -> Iterator[Verdict]:
        """A leaf that still moves."""
        if state.at >= 0:
            so_far = self._judged(state, state.driving.position(now))
            yield worse(so_far, still_moving(state.at, (state.number,)))


REQUIREMENT = HoldStopsOnRelease()
