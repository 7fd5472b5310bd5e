"""A supervision fault in motion ends in the reversal begun, or in standstill with the lockout stored."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Event
from gatesim.plant.part import owned, state
from gatesim.plant.site import Profile, Site
from gatesim.requirements import disturbances as f
from gatesim.requirements import driving as d
from gatesim.requirements.monitor import Monitor, Tally, at_most, waiting
from gatesim.requirements.profiles import OURS, both
from gatesim.requirements.requirement import Limit, Source
from gatesim.requirements.verdict import Measure, Verdict


@state
class FaultState:
    """Faults that wait for the reaction; whether the leaf stands, and whether the lockout is stored, since the first
    of them."""

    limit: int | None
    site: Site
    driving: d.Driving = owned()
    wires: f.Disturbances = owned()
    tally: Tally = owned()
    open: tuple[f.Disturbed, ...] = ()
    stands: bool = False
    stored: bool = False


class FaultInMotion(Monitor):
    """Judged: a disturbance of a device that guards the direction in which the leaf moves by itself, which can be
    found continuously or
    by the next check-in.  One that is younger than its device's detection limit when the leaf starts counts from the
    start.
    Not judged: one that is gone before the reaction, a movement that reached its own end first or that a command
    stopped, and
    loss of the supply.  2 s is taken over from the clause on contact; for faults it is ours.
    """

    id: ClassVar[str] = "fault-in-motion"
    sentence: ClassVar[str] = (
        "A fault of a device that guards the motion ends in a reversal, or in standstill and lockout, in time."
    )
    quantity: ClassVar[str] = "fault to reversal begun, or to standstill with the lockout stored"
    measure: ClassVar[Measure] = Measure.US
    failures: ClassVar[tuple[str, ...]] = ("too late", "no reaction", "no lockout")
    source: ClassVar[Source] = OURS
    sees: ClassVar[tuple[type, ...]] = (*d.SEES, *f.SEES, e.StoreWritten)
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.WireDisturbed, e.StoreWritten)
    idle: ClassVar[str] = "no such fault came while the leaf moved by itself"

    def limits(self) -> dict[Profile, Limit | None]:
        """2 s."""
        return both(2_000_000, OURS)

    def begin(self, limit: int | None, site: Site) -> FaultState:
        """No fault."""
        return FaultState(limit, site, d.Driving(), f.Disturbances(site), Tally())

    def see(self, state: FaultState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        begun = state.wires.see(number, at, event)
        if begun is not None:
            self._consider(state, begun)
        elif isinstance(event, e.WireRestored) and state.open:
            state.open = tuple(one for one in state.open if (one.wire, one.device) != (event.wire, event.device))
            state.tally.skipped = "the fault was gone before the reaction was due"
        elif isinstance(event, e.LeafStarted):
            self._react(state, number, at, event)
        elif isinstance(event, e.LeafStopped) and state.open:
            state.stands = True
            if state.driving.completed:
                self._ended(state, at)
        elif isinstance(event, e.StoreWritten):
            way = state.driving.direction or state.driving.was
            state.stored = way is not None and event.lockout.bars(way)
        elif isinstance(event, e.PowerLost):
            self._drop(state, "the supply was lost")
        elif isinstance(event, e.CommandPressed) and state.open and state.driving.order is not None:
            self._drop(state, "a command came first")
        state.driving.see(at, event)
        if isinstance(event, e.LeafStarted):
            self._young(state, number, at)
        if state.stands and state.stored:
            self._done(state, number, at)

    def _consider(self, state: FaultState, one: f.Disturbed) -> None:
        way = state.driving.direction
        if way is not None and state.driving.automatic and one.guards(way) and one.found in f.RUNNING:
            if not state.open:
                state.stands, state.stored = False, False
            state.open += (one,)

    def _young(self, state: FaultState, number: int, at: int) -> None:
        if state.driving.why is d.Why.START:
            for one in state.wires.active:
                if at - one.at < f.known_at_start(state.site, one.carrier(state.site), one.found):
                    self._consider(state, one._replace(at=at, number=number))

    def _react(self, state: FaultState, number: int, at: int, event: e.LeafStarted) -> None:
        before = state.driving.direction or state.driving.was
        if before is event.direction.other:
            self._done(state, number, at)

    def _done(self, state: FaultState, number: int, at: int) -> None:
        for one in state.open:
            state.tally.take(at_most(at - one.at, state.limit, "too late", one.at, (one.number, number)))
        state.open, state.stands = (), False

    def _ended(self, state: FaultState, at: int) -> None:
        """The movement came to its own end first: no reaction where it was due before, else nothing to judge."""
        for one in state.open:
            if state.limit is not None and at - one.at > state.limit:
                state.tally.take(waiting(one.at, at, state.limit, "no reaction", (one.number,)))
        self._drop(state, "the movement had reached its own end")

    def _drop(self, state: FaultState, why: str) -> None:
        if state.open:
            state.tally.skipped, state.open = why, ()

    def open_cases(self, state: FaultState, now: int) -> Iterator[Verdict]:
        """Faults without a reaction yet."""
        for one in state.open:
            failure = "no lockout" if state.stands else "no reaction"
            yield waiting(one.at, now, state.limit, failure, (one.number,))


REQUIREMENT = FaultInMotion()
