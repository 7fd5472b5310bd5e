"""A beam interrupted at rest restarts the pause of automatic closing."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Direction, Event
from gatesim.plant.part import owned, state
from gatesim.plant.site import Site
from gatesim.requirements import disturbances as f
from gatesim.requirements import driving as d
from gatesim.requirements.leaf_view import anywhere
from gatesim.requirements.monitor import Monitor, Tally, at_least, failed, undetermined
from gatesim.requirements.profiles import OURS
from gatesim.requirements.requirement import Source
from gatesim.requirements.verdict import Measure, Verdict


@state
class PauseState:
    """Rays interrupted at rest with automatic closing armed, and since when all of them have been clear again."""

    least: int
    site: Site
    driving: d.Driving = owned()
    tally: Tally = owned()
    armed: bool = False
    there: tuple[tuple[str, int], ...] = ()
    number: int = -1
    clear: int = -1


class BeamRestartsThePause(Monitor):
    """From the ray clear again to the automatic closing begun: at least the whole pause and the warning (site data).

    Not judged: an interruption too short for the input to see, and what a command, a cancelled automatic closing or the
    loss of the supply ended.
    """

    id: ClassVar[str] = "beam-restarts-the-pause"
    sentence: ClassVar[str] = "A beam interrupted at rest restarts the pause of automatic closing."
    quantity: ClassVar[str] = "ray clear to automatic closing begun"
    measure: ClassVar[Measure] = Measure.US
    least: ClassVar[bool] = True
    failures: ClassVar[tuple[str, ...]] = ("too soon", "closed while interrupted")
    source: ClassVar[Source] = OURS
    sees: ClassVar[tuple[type, ...]] = (*d.SEES, e.BeamInterrupted, e.BeamCleared)
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.BeamInterrupted, e.BeamCleared)
    idle: ClassVar[str] = "no beam was interrupted in a pause of automatic closing"

    def begin(self, limit: int | None, site: Site) -> PauseState:
        """Nothing interrupted."""
        own = (site.controller.automatic_closing or 0) + site.controller.closing_warning
        return PauseState(own if limit is None else max(own, limit), site, d.Driving(), Tally())

    def see(self, state: PauseState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        state.driving.see(at, event)
        if isinstance(event, e.OrdersChanged):
            state.armed = event.armed
            if not event.armed and event.order is None:
                self._drop(state, "automatic closing was cancelled")
        elif isinstance(event, e.BeamInterrupted):
            waits = state.armed and state.driving.resting and event.direction is Direction.CLOSING
            if waits:
                state.there, state.number = (*state.there, (event.beam, at)), number
        elif isinstance(event, e.BeamCleared):
            self._cleared(state, at, event.beam)
        elif d.is_fresh(event) or isinstance(event, e.PowerLost):
            self._drop(state, "a command or the loss of the supply came first")
        elif isinstance(started := anywhere(event), e.LeafStarted):
            self._started(state, number, at, started.direction, mine=started is event)

    def _cleared(self, state: PauseState, at: int, name: str) -> None:
        beam = f.beam_of(state.site, name)
        since = next((since for one, since in state.there if one == name), None)
        state.there = tuple(one for one in state.there if one[0] != name)
        if since is not None and beam is not None and at - since > f.seen_by(beam):
            state.clear = at
        elif since is not None:
            state.tally.skipped = "the ray was clear again before it could be seen"

    def _started(self, state: PauseState, number: int, at: int, direction: Direction, *, mine: bool) -> None:
        """Of two leaves the first that starts tells."""
        driving = state.driving
        why = driving.why if mine else driving.kind if driving.order is direction else None
        if direction is Direction.CLOSING and why is d.Why.START:
            evidence = (state.number, number)
            seen = [name for name, since in state.there if self._is_seen(state, name, at - since)]
            if seen:
                state.tally.take(failed("closed while interrupted", at, evidence, seen[0]))
            elif state.clear >= 0:
                state.tally.take(at_least(at - state.clear, state.least, "too soon", state.clear, evidence))
        state.there, state.clear = (), -1

    def _is_seen(self, state: PauseState, name: str, lasted: int) -> bool:
        return lasted >= f.known_at_start(state.site, name, e.FoundBy.CONTINUOUSLY)

    def _drop(self, state: PauseState, why: str) -> None:
        if state.there or state.clear >= 0:
            state.there, state.clear, state.tally.skipped = (), -1, why

    def open_cases(self, state: PauseState, now: int) -> Iterator[Verdict]:
        """It has not closed yet."""
        if state.there or state.clear >= 0:
            yield undetermined(now, (state.number,), "the run ended before it closed by itself")


REQUIREMENT = BeamRestartsThePause()
