"""An alarm that is ordered and does not sound is announced."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Event
from gatesim.plant.part import owned, state
from gatesim.plant.site import Profile, Site
from gatesim.requirements.monitor import Monitor, Tally, at_most, waiting
from gatesim.requirements.profiles import OURS, both
from gatesim.requirements.requirement import Limit, Source
from gatesim.requirements.verdict import Measure, Verdict


@state
class SilentState:
    """Since when an alarm is ordered that does not sound."""

    limit: int | None
    tally: Tally = owned()
    ordered: bool = False
    sounds: bool = False
    since: int = -1
    number: int = 0


class AlarmFailureAnnounced(Monitor):
    """From an alarm ordered without a sound, or a sound that ends under the order, to a notice that names the sounder.
    A sounder that follows within the limit needs none; without one nobody at the gate learns that it is locked out.
    """

    id: ClassVar[str] = "alarm-failure-announced"
    sentence: ClassVar[str] = "An alarm that is ordered and does not sound is announced in time."
    quantity: ClassVar[str] = "alarm ordered and silent to its notice"
    measure: ClassVar[Measure] = Measure.US
    failures: ClassVar[tuple[str, ...]] = ("too late", "not announced")
    source: ClassVar[Source] = OURS
    sees: ClassVar[tuple[type, ...]] = (e.OrdersChanged, e.SounderChanged, e.Announced, e.PowerLost)
    needs: ClassVar[tuple[type, ...]] = (e.OrdersChanged, e.SounderChanged, e.Announced)
    idle: ClassVar[str] = "no alarm was ordered that did not sound"

    def limits(self) -> dict[Profile, Limit | None]:
        """1 s."""
        return both(1_000_000, OURS)

    def begin(self, limit: int | None, site: Site) -> SilentState:
        """No alarm."""
        return SilentState(limit, Tally())

    def see(self, state: SilentState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        if isinstance(event, e.Announced):
            if state.since >= 0 and event.device == "sounder":
                evidence = (state.number, number)
                state.tally.take(at_most(at - state.since, state.limit, "too late", state.since, evidence))
                state.since = -1
            return
        if isinstance(event, e.OrdersChanged):
            began = event.alarm and not state.ordered
            state.ordered = event.alarm
        else:
            began = isinstance(event, e.SounderChanged) and state.sounds and not event.sounding
            state.sounds = isinstance(event, e.SounderChanged) and event.sounding
        if state.sounds or not state.ordered or isinstance(event, e.PowerLost):
            self._over(state, at)
        elif began:
            state.since, state.number = at, number

    def _over(self, state: SilentState, at: int) -> None:
        """It sounds, or is ordered no more: late all the same where the limit has passed without a notice."""
        if state.since >= 0 and state.limit is not None and at - state.since > state.limit:
            state.tally.take(waiting(state.since, at, state.limit, "not announced", (state.number,)))
        state.since = -1

    def open_cases(self, state: SilentState, now: int) -> Iterator[Verdict]:
        """A silent alarm without a notice yet."""
        if state.since >= 0:
            yield waiting(state.since, now, state.limit, "not announced", (state.number,))


REQUIREMENT = AlarmFailureAnnounced()
