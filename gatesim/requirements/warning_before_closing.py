"""A warning before automatic closing."""

from __future__ import annotations

from typing import ClassVar

from gatesim import events as e
from gatesim.events import Direction, Event
from gatesim.plant.part import owned, state
from gatesim.plant.site import Profile, Site
from gatesim.requirements import driving as d
from gatesim.requirements.monitor import Monitor, Tally, at_least, failed
from gatesim.requirements.profiles import UNATTENDED, both
from gatesim.requirements.requirement import Limit, Source
from gatesim.requirements.verdict import Measure


@state
class WarningState:
    """Whether somebody asked for the move, and the warning since the leaf last stood."""

    limit: int | None
    driving: d.Driving = owned()
    tally: Tally = owned()
    asked: bool = False
    since: int = -1
    number: int = 0


class WarningBeforeClosing(Monitor):
    """From the notice (one that names no device) to the start of a closing that nobody asked for since the leaf last
    started.  The clause
    is about the unattended closing of garage doors.
    """

    id: ClassVar[str] = "warning-before-automatic-closing"
    sentence: ClassVar[str] = "Before the gate closes by itself, it warns long enough."
    quantity: ClassVar[str] = "warning to closing"
    measure: ClassVar[Measure] = Measure.US
    failures: ClassVar[tuple[str, ...]] = ("too short", "no warning")
    source: ClassVar[Source] = UNATTENDED
    least: ClassVar[bool] = True
    sees: ClassVar[tuple[type, ...]] = (*d.SEES, e.Announced)
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.Announced, e.CommandPressed)
    idle: ClassVar[str] = "the gate never closed by itself"

    def limits(self) -> dict[Profile, Limit | None]:
        """5 s."""
        return both(5_000_000, UNATTENDED)

    def begin(self, limit: int | None, site: Site) -> WarningState:
        """At rest."""
        return WarningState(limit, d.Driving(), Tally())

    def see(self, state: WarningState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        state.driving.see(at, event)
        if isinstance(event, e.Announced):
            if not event.device:
                state.since, state.number = at, number
        elif isinstance(event, e.CommandRefused | e.LeafStopped):
            state.since = -1
        elif isinstance(event, e.CommandPressed) and d.is_fresh(event):
            state.asked = d.WAY[event.command] is Direction.CLOSING
        elif isinstance(event, e.LeafStarted):
            if event.direction is Direction.CLOSING:
                self._closes(state, number, at)
            state.asked = False

    def _closes(self, state: WarningState, number: int, at: int) -> None:
        if state.driving.why is not d.Why.START or state.asked:
            return
        if state.since < 0:
            state.tally.take(failed("no warning", at, (number,)))
        else:
            warned = at - state.since
            state.tally.take(at_least(warned, state.limit, "too short", state.since, (state.number, number)))


REQUIREMENT = WarningBeforeClosing()
