"""An interrupted beam is not counted as a demand and sounds no alarm."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Direction, Event, Lockout
from gatesim.plant.part import owned, state
from gatesim.plant.site import CountCleared, Site
from gatesim.requirements import driving as d
from gatesim.requirements.leaf_view import anywhere, reaches_end
from gatesim.requirements.monitor import Monitor, Tally, failed, held, undetermined
from gatesim.requirements.profiles import OURS
from gatesim.requirements.requirement import Source
from gatesim.requirements.verdict import Verdict


@state
class CountState:
    """What has stopped the present movement so far, and whether the next thing must not lock out."""

    site: Site
    demands: d.Demands = owned()
    driving: d.Driving = owned()
    tally: Tally = owned()
    before: Direction | None = None
    """The movement that a beam stopped, and that has not been completed since."""
    seen: int = -1
    still: int = -1
    way: Direction | None = None
    at: int = 0
    evidence: tuple[int, ...] = ()


class BeamNotADemand(Monitor):
    """A beam interrupted and a demand, in either order, or a beam interrupted twice, before the movement has once been
    completed: counted, that would be a second demand.  Judged until the leaf has begun to go back: no entrapment
    lockout in the store, no alarm; or, where it does not go back, until it had the time for that.  An alarm or that
    lockout on a single interruption fails as well.  What comes in a reversal is not judged.
    """

    id: ClassVar[str] = "beam-not-a-demand"
    sentence: ClassVar[str] = "An interrupted beam is not counted as a demand and sounds no alarm."
    failures: ClassVar[tuple[str, ...]] = ("counted", "alarm")
    source: ClassVar[Source] = OURS
    sees: ClassVar[tuple[type, ...]] = (
        *d.SEES,
        *d.DEMAND_SEES,
        e.BeamInterrupted,
        e.StoreWritten,
        e.SounderChanged,
    )
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.BeamInterrupted, e.EdgeActuated, e.StoreWritten, e.SounderChanged)
    idle: ClassVar[str] = "no beam was interrupted in motion together with what might be counted with it"

    def begin(self, limit: int | None, site: Site) -> CountState:
        """Nothing interrupted."""
        any_end = site.controller.count_cleared is not CountCleared.OWN_END
        return CountState(site, d.Demands(any_end), d.Driving(), Tally())

    def see(self, state: CountState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        pending = state.demands.interrupted
        demand = state.demands.see(state.driving, event)
        if isinstance(event, e.BeamInterrupted):
            if state.driving.why in (d.Why.START, d.Why.RESUMED) and state.driving.direction is event.direction:
                self._met(state, number, at, pending is not None or state.before is not None)
                state.before = event.direction
        elif demand == "second":
            if state.way is not None:
                state.way, state.tally.skipped = None, "a second demand came as well"
            state.seen = -1
        elif demand == "first" and state.before is not None:
            self._met(state, number, at, True)
        else:
            self._meanwhile(state, number, at, event)
        state.driving.see(at, event)

    def _met(self, state: CountState, number: int, at: int, together: bool) -> None:
        state.seen, state.still = number, -1
        if together:
            state.way, state.at, state.evidence = state.driving.direction, at, (number,)
        else:
            state.tally.skipped = "nothing came that could have been counted together with the interruption"

    def _meanwhile(self, state: CountState, number: int, at: int, event: Event) -> None:
        if isinstance(event, e.LeafStarted):
            if state.way is not None and (state.way is event.direction.other or self._waited(state, at)):
                state.tally.take(held(state.at, (*state.evidence, number)))
            state.way, state.seen = None, -1
        elif isinstance(event, e.LeafStopped):
            state.still = at
        elif state.before is not None and completes(state.driving, event, state.before):
            state.before = None
        elif state.seen >= 0 and isinstance(event, e.StoreWritten) and event.lockout is Lockout.ENTRAPMENT:
            self._wrong(state, "counted", number, at)
        elif state.seen >= 0 and isinstance(event, e.SounderChanged) and event.sounding:
            self._wrong(state, "alarm", number, at)
        elif isinstance(event, e.PowerLost) and state.way is not None:
            state.way, state.tally.skipped = None, "the supply was lost"

    def _waited(self, state: CountState, now: int) -> bool:
        table = state.site.controller
        wait = table.reversal_dwell + state.site.drive.start_delay + table.store_write
        return state.still >= 0 and now - state.still > wait

    def _wrong(self, state: CountState, failure: str, number: int, at: int) -> None:
        state.tally.take(failed(failure, at, (state.seen, number)))
        state.way, state.seen = None, -1

    def open_cases(self, state: CountState, now: int) -> Iterator[Verdict]:
        """The leaf has not gone back yet."""
        if state.way is not None and self._waited(state, now):
            yield held(state.at, state.evidence, "the leaf stayed where it stood")
        elif state.way is not None:
            yield undetermined(state.at, state.evidence, "the run ended before the leaf went back")


def completes(driving: d.Driving, event: Event, way: Direction) -> bool:
    """Whether the whole gate has come to the end of a movement with this event."""
    inside = anywhere(event)
    return isinstance(inside, e.LimitReached) and d.END[way] is inside.side and reaches_end(driving.ends, event)


REQUIREMENT = BeamNotADemand()
