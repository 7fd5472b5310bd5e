"""A link that was lost counts again only after its recovery time."""

from __future__ import annotations

from typing import ClassVar

from gatesim import events as e
from gatesim.events import Event
from gatesim.plant.part import owned, state
from gatesim.plant.site import Site
from gatesim.requirements import disturbances as f
from gatesim.requirements import driving as d
from gatesim.requirements.monitor import Monitor, Tally, failed, held
from gatesim.requirements.profiles import OURS
from gatesim.requirements.requirement import Source


@state
class RecoveryState:
    """Edges reported not fresh, and since when those are fresh again that were not: (edge, instant, event)."""

    site: Site
    driving: d.Driving = owned()
    tally: Tally = owned()
    lost: tuple[str, ...] = ()
    back: tuple[tuple[str, int, int], ...] = ()


class RecoveryTimeKept(Monitor):
    """Judged by the reports: one that was heard, then not fresh, and is fresh again bars an automatic start in the
    direction that its edge guards until it has been fresh for the site's recovery time without a break.  The first
    good frame proves one frame.
    """

    id: ClassVar[str] = "recovery-time-kept"
    sentence: ClassVar[str] = "After a lost link is back, no automatic start before its recovery time is over."
    failures: ClassVar[tuple[str, ...]] = ("too soon",)
    source: ClassVar[Source] = OURS
    sees: ClassVar[tuple[type, ...]] = (*d.SEES, e.ReportChanged, e.PowerReturned)
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.ReportChanged)
    idle: ClassVar[str] = "no start was asked for after a lost link had come back"

    def begin(self, limit: int | None, site: Site) -> RecoveryState:
        """Nothing lost."""
        return RecoveryState(site, d.Driving(), Tally())

    def see(self, state: RecoveryState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        state.driving.see(at, event)
        if isinstance(event, e.ReportChanged):
            self._reported(state, number, at, event)
        elif isinstance(event, e.PowerReturned):
            state.lost, state.back = (), ()
        elif isinstance(event, e.CommandRefused):
            way = d.WAY.get(event.command)
            for edge, since, first in state.back:
                if way is not None and edge in f.guarding(state.site, way) and not self._over(state, since, at):
                    state.tally.take(held(at, (first, number), f"refused: {edge}"))
        elif isinstance(event, e.LeafStarted) and state.driving.why is d.Why.START:
            for edge, since, first in state.back:
                if edge in f.guarding(state.site, event.direction):
                    kept = self._over(state, since, at)
                    state.tally.take(held(at, (first, number), edge) if kept
                                     else failed("too soon", at, (first, number), edge))
            state.back = tuple(one for one in state.back if not self._over(state, one[1], at))

    def _over(self, state: RecoveryState, since: int, at: int) -> bool:
        return at - since >= state.site.controller.recovery_time

    def _reported(self, state: RecoveryState, number: int, at: int, event: e.ReportChanged) -> None:
        if event.heard and not event.fresh:
            state.lost = (*[edge for edge in state.lost if edge != event.edge], event.edge)
            state.back = tuple(one for one in state.back if one[0] != event.edge)
        elif event.edge in state.lost:
            state.lost = tuple(edge for edge in state.lost if edge != event.edge)
            if event.heard:
                state.back += ((event.edge, at, number),)


REQUIREMENT = RecoveryTimeKept()
