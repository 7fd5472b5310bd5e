"""In a lockout only the permitted origins act."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Direction, Event, Lockout, Origin
from gatesim.plant.part import owned, state
from gatesim.plant.site import Site
from gatesim.requirements import driving as d
from gatesim.requirements.leaf_view import Elsewhere
from gatesim.requirements.monitor import Monitor, Tally, failed, held, undetermined
from gatesim.requirements.profiles import GATES_US
from gatesim.requirements.requirement import Source
from gatesim.requirements.verdict import Verdict

FULL = (Lockout.ENTRAPMENT, Lockout.DRIVE)


@state
class LockedState:
    """The lockout in the store, and a command given against it."""

    site: Site
    driving: d.Driving = owned()
    tally: Tally = owned()
    lockout: Lockout = Lockout.NONE
    number: int = 0
    asked: tuple[Direction, int, int] | None = None


class LockoutOrigins(Monitor):
    """In a locked-out direction only the wired hold-to-run moves the leaf; in an entrapment or drive lockout nothing
    does, but for the
    relief that the site may set after a second demand.  What counts is the lockout in the non-volatile store.
    """

    id: ClassVar[str] = "lockout-origins"
    sentence: ClassVar[str] = "In a lockout only the permitted origins move the leaf."
    failures: ClassVar[tuple[str, ...]] = ("moved by itself", "moved by radio", "moved in a full lockout")
    source: ClassVar[Source] = GATES_US
    sees: ClassVar[tuple[type, ...]] = (*d.SEES, e.StoreWritten)
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.StoreWritten, e.CommandPressed)
    idle: ClassVar[str] = "no command was given in a lockout"

    def begin(self, limit: int | None, site: Site) -> LockedState:
        """No lockout."""
        return LockedState(site, d.Driving(), Tally())

    def see(self, state: LockedState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        state.driving.see(at, event)
        if isinstance(event, e.StoreWritten):
            state.lockout, state.number = event.lockout, number
            if event.lockout is Lockout.NONE:
                self._kept(state, number)
        elif isinstance(event, e.CommandPressed) and (way := d.WAY.get(event.command)) is not None:
            if state.lockout.bars(way) and state.driving.resting:
                self._kept(state, number)
                state.asked = (way, at, number)
        elif isinstance(event, e.CommandReleased | e.CommandRefused | e.PowerLost):
            self._kept(state, number)
        elif isinstance(event, e.LeafStarted) and state.lockout.bars(event.direction):
            self._moved(state, number, at, event.direction)
        elif isinstance(event, Elsewhere) and isinstance(event.event, e.LeafStarted):
            state.asked = None  # judged where it moves

    def _kept(self, state: LockedState, number: int) -> None:
        if state.asked is not None:
            state.tally.take(held(state.asked[1], (state.number, state.asked[2], number)))
            state.asked = None

    def _moved(self, state: LockedState, number: int, at: int, direction: Direction) -> None:
        why, failure = state.driving.why, ""
        if (why in (d.Why.START, d.Why.HOLD) and state.lockout in FULL) or (
            why is d.Why.REVERSAL
            and state.lockout in FULL
            and not (state.lockout is Lockout.ENTRAPMENT and state.site.controller.second_demand_relief > 0)
        ):
            failure = "moved in a full lockout"
        elif why is d.Why.START:
            failure = "moved by itself"
        elif why is d.Why.HOLD:
            if Origin.WIRED not in state.driving.holds(d.HOLDS[direction]):
                failure = "moved by radio"
            else:
                state.tally.take(held(at, (state.number, number), "by the wired hold-to-run control"))
        if failure:
            state.tally.take(failed(failure, at, (state.number, number)))
        state.asked = None

    def open_cases(self, state: LockedState, now: int) -> Iterator[Verdict]:
        """A command that is still held."""
        if state.asked is not None:
            yield undetermined(
                state.asked[1], (state.number, state.asked[2]), "the control was still pressed at the end"
            )


REQUIREMENT = LockoutOrigins()
