"""Automatic closing stays cancelled after a demand until a fresh command."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Command, Direction, Event
from gatesim.plant.part import owned, state
from gatesim.plant.site import CountCleared, Site
from gatesim.requirements import driving as d
from gatesim.requirements.leaf_view import anywhere
from gatesim.requirements.monitor import Monitor, Tally, failed, held, undetermined
from gatesim.requirements.profiles import OURS
from gatesim.requirements.requirement import Source
from gatesim.requirements.verdict import Verdict


@state
class CancelState:
    """What cancelled automatic closing, and since when the leaf could have closed again."""

    site: Site
    demands: d.Demands = owned()
    driving: d.Driving = owned()
    tally: Tally = owned()
    failure: str = ""
    number: int = 0
    still: int = -1


class AutomaticClosingCancelled(Monitor):
    """After a demand, a stop command or a power loss the gate does not close by itself until somebody gives a command
    to move.

    A pass needs the pause, the warning and the test to have gone by at standstill without a closing.
    """

    id: ClassVar[str] = "automatic-closing-cancelled"
    sentence: ClassVar[str] = (
        "After a demand, a stop or a power loss the gate closes by itself only after a fresh command."
    )
    failures: ClassVar[tuple[str, ...]] = ("closed after a demand", "closed after a stop", "closed after a power loss")
    source: ClassVar[Source] = OURS
    sees: ClassVar[tuple[type, ...]] = (*d.SEES, *d.DEMAND_SEES)
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.EdgeActuated, e.CommandPressed)
    idle: ClassVar[str] = "nothing cancelled an automatic closing"

    def begin(self, limit: int | None, site: Site) -> CancelState:
        """Nothing cancelled."""
        return CancelState(
            site, d.Demands(site.controller.count_cleared is not CountCleared.OWN_END), d.Driving(), Tally()
        )

    def see(self, state: CancelState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        demand = state.demands.see(state.driving, event)
        state.driving.see(at, event)
        if state.site.controller.automatic_closing is None:
            state.tally.skipped = "the site has no automatic closing"
            return
        if demand:
            self._cancelled(state, number, at, "closed after a demand")
        elif isinstance(event, e.PowerLost):
            self._cancelled(state, number, at, "closed after a power loss")
        elif isinstance(event, e.CommandPressed) and event.command is Command.STOP:
            self._cancelled(state, number, at, "closed after a stop")
        elif d.is_fresh(event):
            self._over(state, number, at)
        elif isinstance(anywhere(event), e.LeafStopped | e.LeafStarted):
            state.still = at if state.driving.resting else -1
            closes = isinstance(event, e.LeafStarted) and event.direction is Direction.CLOSING
            if state.failure and closes and state.driving.why is d.Why.START:
                state.tally.take(failed(state.failure, at, (state.number, number)))
                state.failure = ""

    def _cancelled(self, state: CancelState, number: int, at: int, failure: str) -> None:
        if not state.failure:
            state.failure, state.number = failure, number
            state.still = at if state.driving.resting else -1

    def _over(self, state: CancelState, number: int, at: int) -> None:
        if state.failure and self._waited(state, at):
            state.tally.take(held(at, (state.number, number)))
        elif state.failure:
            state.tally.skipped = "a fresh command came before it could have closed"
        state.failure = ""

    def _waited(self, state: CancelState, now: int) -> bool:
        table = state.site.controller
        pause = (table.automatic_closing or 0) + table.closing_warning + table.test_time + state.site.drive.start_delay
        return state.still >= 0 and now - state.still > pause

    def open_cases(self, state: CancelState, now: int) -> Iterator[Verdict]:
        """Cancelled up to now."""
        if state.failure and self._waited(state, now):
            yield held(now, (state.number,), "it stayed open")
        elif state.failure:
            yield undetermined(now, (state.number,), "the run ended before it could have closed")


REQUIREMENT = AutomaticClosingCancelled()
