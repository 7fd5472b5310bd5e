"""The reverse direction is energised only at standstill."""

from __future__ import annotations

from typing import ClassVar

from gatesim import events as e
from gatesim.events import Direction, Event
from gatesim.plant.part import owned, state
from gatesim.plant.site import Site
from gatesim.requirements.monitor import Monitor, Tally, failed, held
from gatesim.requirements.profiles import PRACTICE
from gatesim.requirements.requirement import Source


@state
class TurnState:
    """How the leaf moves, and the last direction energised."""

    tally: Tally = owned()
    moving: Direction | None = None
    last: Direction | None = None
    number: int = -1


class ReversalAfterStandstill(Monitor):
    """What the contactors physically energise against the direction in which the leaf still moves."""

    id: ClassVar[str] = "reversal-after-standstill"
    sentence: ClassVar[str] = "The other direction is energised only when the leaf stands."
    failures: ClassVar[tuple[str, ...]] = ("energised while moving",)
    source: ClassVar[Source] = PRACTICE
    sees: ClassVar[tuple[type, ...]] = (e.ContactorsChanged, e.LeafStarted, e.LeafStopped)
    needs: ClassVar[tuple[type, ...]] = (e.ContactorsChanged, e.LeafStarted, e.LeafStopped)
    idle: ClassVar[str] = "the direction was never changed"

    def begin(self, limit: int | None, site: Site) -> TurnState:
        """At rest."""
        return TurnState(Tally())

    def see(self, state: TurnState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        if isinstance(event, e.LeafStarted):
            state.moving, state.number = event.direction, number
        elif isinstance(event, e.LeafStopped):
            state.moving, state.number = None, number
        elif isinstance(event, e.ContactorsChanged):
            for way, closed in ((Direction.OPENING, event.opening), (Direction.CLOSING, event.closing)):
                if closed:
                    self._energised(state, number, at, way)

    def _energised(self, state: TurnState, number: int, at: int, way: Direction) -> None:
        evidence = (state.number, number) if state.number >= 0 else (number,)
        if state.moving is way.other:
            state.tally.take(failed("energised while moving", at, evidence))
        elif state.last is way.other:
            state.tally.take(held(at, evidence))
        state.last = way


REQUIREMENT = ReversalAfterStandstill()
