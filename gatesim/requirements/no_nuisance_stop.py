"""A healthy cycle meets no nuisance stop."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Direction, Event
from gatesim.plant.part import owned, state
from gatesim.plant.site import Site
from gatesim.requirements import driving as d
from gatesim.requirements.leaf_view import anywhere
from gatesim.requirements.monitor import Monitor, Tally, failed, held, undetermined
from gatesim.requirements.profiles import OURS
from gatesim.requirements.requirement import Source
from gatesim.requirements.verdict import Verdict


@state
class HealthyState:
    """A healthy move under way."""

    driving: d.Driving = owned()
    tally: Tally = owned()
    wires: tuple[tuple[str, str], ...] = ()
    critical: bool = False
    pressed: tuple[str, ...] = ()
    interrupted: tuple[str, ...] = ()
    way: Direction | None = None
    at: int = 0
    number: int = 0


class NoNuisanceStop(Monitor):
    """An automatic start with no wire disturbed, nothing touched, no edge pressed, no beam interrupted, no command and
    no loss of the supply on the way: the leaf reaches its end without a stop.
    """

    id: ClassVar[str] = "no-nuisance-stop"
    sentence: ClassVar[str] = "An automatic move that nothing disturbs reaches its end."
    failures: ClassVar[tuple[str, ...]] = ("stopped", "reversed")
    source: ClassVar[Source] = OURS
    sees: ClassVar[tuple[type, ...]] = (
        *d.SEES,
        e.WireDisturbed,
        e.WireRestored,
        e.CellFell,
        e.EdgeActuated,
        e.EdgeReleased,
        e.BeamInterrupted,
        e.BeamCleared,
    )
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.LimitReached, e.WireDisturbed, e.ContactBegan, e.EdgeActuated)
    idle: ClassVar[str] = "no undisturbed automatic move began"

    def begin(self, limit: int | None, site: Site) -> HealthyState:
        """At rest."""
        return HealthyState(driving=d.Driving(), tally=Tally())

    def see(self, state: HealthyState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        state.driving.see(at, event)
        pressed = anywhere(event)
        if isinstance(event, e.WireDisturbed):
            state.wires += ((event.wire, event.device),)
        elif isinstance(event, e.WireRestored):
            state.wires = tuple(one for one in state.wires if one != (event.wire, event.device))
        elif isinstance(event, e.CellFell):
            state.critical = state.critical or event.figure == "critical"
        elif isinstance(pressed, e.EdgeActuated):
            state.pressed += (pressed.edge,)
        elif isinstance(pressed, e.EdgeReleased):
            state.pressed = tuple(edge for edge in state.pressed if edge != pressed.edge)
        elif isinstance(event, e.BeamInterrupted):
            state.interrupted += (event.beam,)
        elif isinstance(event, e.BeamCleared):
            state.interrupted = tuple(beam for beam in state.interrupted if beam != event.beam)
        self._follow(state, number, at, event)

    def _follow(self, state: HealthyState, number: int, at: int, event: Event) -> None:
        if isinstance(event, e.LeafStarted):
            found = (state.wires, state.critical, state.pressed, state.interrupted, state.driving.touching)
            clean = not any(found)
            if state.way is not None:
                state.tally.take(failed("reversed", at, (state.number, number)))
                state.way = None
            elif state.driving.why is d.Why.START and clean:
                state.way, state.at, state.number = event.direction, at, number
        elif state.way is None:
            return
        elif isinstance(event, e.LimitReached) and d.END[state.way] is event.side:
            state.tally.take(held(at, (state.number, number)))
            state.way = None
        elif isinstance(event, e.LeafStopped) and state.driving.order is state.way and state.driving.other is state.way:
            state.way, state.tally.skipped = None, "the leaf waited for the other one"
        elif isinstance(event, e.LeafStopped):
            state.tally.take(failed("stopped", at, (state.number, number)))
            state.way = None
        elif isinstance(
            anywhere(event),
            e.WireDisturbed
            | e.ContactBegan
            | e.EdgeActuated
            | e.BeamInterrupted
            | e.CommandPressed
            | e.PowerLost
            | e.CellFell,
        ):
            state.way, state.tally.skipped = None, "the move was disturbed"

    def open_cases(self, state: HealthyState, now: int) -> Iterator[Verdict]:
        """A move that still goes on."""
        if state.way is not None:
            yield undetermined(state.at, (state.number,), "the leaf still moved when the run ended")


REQUIREMENT = NoNuisanceStop()
