"""A second demand locks out and alarms."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Event, Lockout
from gatesim.plant.part import owned, state
from gatesim.plant.site import CountCleared, Profile, Site
from gatesim.requirements import driving as d
from gatesim.requirements.monitor import Monitor, Tally, at_most, failed, waiting
from gatesim.requirements.profiles import GATES_US, OURS, both
from gatesim.requirements.requirement import Limit, Source
from gatesim.requirements.verdict import Measure, Verdict


@state
class SecondState:
    """A second demand, and what of the reaction has come."""

    limit: int | None
    relief: bool
    demands: d.Demands = owned()
    driving: d.Driving = owned()
    tally: Tally = owned()
    at: int = -1
    evidence: tuple[int, ...] = ()
    stands: bool = False
    locked: bool = False
    sounds: bool = False


class SecondDemand(Monitor):
    """A demand before the interrupted movement has once been completed: from the demand until the leaf stands, the
    entrapment lockout
    is in the non-volatile store, and the alarm sounds, whichever comes last.  No reversal follows, but for the relief
    that the site may set.
    """

    id: ClassVar[str] = "second-demand-locks-out"
    sentence: ClassVar[str] = "A second demand stops the leaf, locks out everything and sounds the alarm in time."
    quantity: ClassVar[str] = "second demand to standstill, lockout stored and alarm"
    measure: ClassVar[Measure] = Measure.US
    failures: ClassVar[tuple[str, ...]] = (
        "too late",
        "motion goes on",
        "no lockout",
        "no alarm",
        "reversed again",
        "supply lost",
    )
    source: ClassVar[Source] = GATES_US
    sees: ClassVar[tuple[type, ...]] = (*d.SEES, *d.DEMAND_SEES, e.StoreWritten, e.SounderChanged)
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.EdgeActuated, e.StoreWritten, e.SounderChanged)
    idle: ClassVar[str] = "no second demand came"

    def limits(self) -> dict[Profile, Limit | None]:
        """2 s (ours)."""
        return both(2_000_000, OURS)

    def begin(self, limit: int | None, site: Site) -> SecondState:
        """No demand."""
        demands = d.Demands(site.controller.count_cleared is not CountCleared.OWN_END)
        return SecondState(limit, site.controller.second_demand_relief > 0, demands, d.Driving(), Tally())

    def see(self, state: SecondState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        demand = state.demands.see(state.driving, event)
        state.driving.see(at, event)
        # Of two leaves, whichever moves must stop; one that stands is not what is judged.
        if demand == "second" and state.driving.direction is not None and state.at < 0 and not state.locked:
            state.at, state.evidence, state.stands = at, (number,), False
        elif isinstance(event, e.StoreWritten):
            state.locked = event.lockout is Lockout.ENTRAPMENT
        elif isinstance(event, e.SounderChanged):
            state.sounds = event.sounding
        elif state.at >= 0:
            self._meanwhile(state, number, at, event)
        if state.at >= 0 and state.stands and state.locked and state.sounds:
            state.tally.take(at_most(at - state.at, state.limit, "too late", state.at, (*state.evidence, number)))
            state.at = -1

    def _meanwhile(self, state: SecondState, number: int, at: int, event: Event) -> None:
        if isinstance(event, e.LeafStopped):
            state.stands, state.evidence = True, (*state.evidence, number)
        elif isinstance(event, e.PowerLost):
            state.tally.take(failed("supply lost", state.at, (*state.evidence, number)))
            state.at = -1
        elif (
            isinstance(event, e.LeafStarted)
            and state.driving.why is d.Why.REVERSAL
            and not (state.relief and state.locked)
        ):
            state.tally.take(failed("reversed again", state.at, (*state.evidence, number)))
            state.at = -1

    def open_cases(self, state: SecondState, now: int) -> Iterator[Verdict]:
        """A reaction that is not whole yet."""
        if state.at >= 0:
            missing = (
                "no alarm" if state.stands and state.locked else "no lockout" if state.stands else "motion goes on"
            )
            yield waiting(state.at, now, state.limit, missing, state.evidence)


REQUIREMENT = SecondDemand()
