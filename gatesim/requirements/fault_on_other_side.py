"""A fault of a device that guards only the other direction is recorded."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Direction, Event
from gatesim.plant.part import owned, state
from gatesim.plant.site import Profile, Site
from gatesim.requirements import disturbances as f
from gatesim.requirements import driving as d
from gatesim.requirements.monitor import Monitor, Tally, at_most, waiting
from gatesim.requirements.profiles import OURS, both
from gatesim.requirements.requirement import Limit, Source
from gatesim.requirements.verdict import Measure, Verdict


@state
class OtherState:
    """Faults that wait to be recorded."""

    limit: int | None
    site: Site
    driving: d.Driving = owned()
    wires: f.Disturbances = owned()
    tally: Tally = owned()
    open: tuple[tuple[f.Disturbed, Direction], ...] = ()


class FaultOnOtherSide(Monitor):
    """The movement may finish; the lockout of the other direction is in the non-volatile store within the limit, or a
    start that way is
    refused before.  Not judged: one that is gone first, or that the leaf's coming to rest turns into a fault at rest.
    """

    id: ClassVar[str] = "fault-on-other-side"
    sentence: ClassVar[str] = (
        "A fault of a device that guards only the other direction is recorded as its lockout in time."
    )
    quantity: ClassVar[str] = "fault to lockout stored"
    measure: ClassVar[Measure] = Measure.US
    failures: ClassVar[tuple[str, ...]] = ("too late", "not recorded")
    source: ClassVar[Source] = OURS
    sees: ClassVar[tuple[type, ...]] = (*d.SEES, *f.SEES, e.StoreWritten)
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.WireDisturbed, e.StoreWritten)
    idle: ClassVar[str] = "no such fault came while the leaf moved the other way"

    def limits(self) -> dict[Profile, Limit | None]:
        """2 s, as for a fault of a device that guards the motion."""
        return both(2_000_000, OURS)

    def begin(self, limit: int | None, site: Site) -> OtherState:
        """No fault."""
        return OtherState(limit, site, d.Driving(), f.Disturbances(site), Tally())

    def see(self, state: OtherState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        begun = state.wires.see(number, at, event)
        way = state.driving.direction
        if begun is not None and way is not None and state.driving.automatic and begun.found in f.RUNNING:
            if begun.guards(way.other) and not begun.guards(way):
                state.open += ((begun, way.other),)
        elif isinstance(event, e.WireRestored):
            left = tuple(one for one in state.open if (one[0].wire, one[0].device) != (event.wire, event.device))
            self._drop(state, left, "the fault was gone before it was due")
        elif isinstance(event, e.StoreWritten):
            self._recorded(state, number, at, tuple(one for one in state.open if event.lockout.bars(one[1])))
        elif isinstance(event, e.CommandRefused):
            self._recorded(state, number, at, tuple(one for one in state.open if d.WAY.get(event.command) is one[1]))
        elif isinstance(event, e.LeafStopped | e.PowerLost):
            late = tuple(one for one in state.open if state.limit is not None and at - one[0].at > state.limit)
            self._drop(state, late, "the leaf came to rest before it was due")
        state.driving.see(at, event)

    def _recorded(
        self, state: OtherState, number: int, at: int, done: tuple[tuple[f.Disturbed, Direction], ...]
    ) -> None:
        for one, _ in done:
            state.tally.take(at_most(at - one.at, state.limit, "too late", one.at, (one.number, number)))
        state.open = tuple(one for one in state.open if one not in done)

    def _drop(self, state: OtherState, left: tuple[tuple[f.Disturbed, Direction], ...], why: str) -> None:
        if left != state.open:
            state.tally.skipped, state.open = why, left

    def open_cases(self, state: OtherState, now: int) -> Iterator[Verdict]:
        """Faults not recorded yet."""
        for one, _ in state.open:
            yield waiting(one.at, now, state.limit, "not recorded", (one.number,))


REQUIREMENT = FaultOnOtherSide()
