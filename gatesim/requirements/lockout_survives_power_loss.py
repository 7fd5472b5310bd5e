"""A lockout survives a power loss."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Command, Direction, Event, Lockout
from gatesim.plant.part import owned, state
from gatesim.plant.site import Site
from gatesim.requirements import driving as d
from gatesim.requirements.monitor import Monitor, Tally, failed, held, undetermined
from gatesim.requirements.profiles import OURS
from gatesim.requirements.requirement import Source
from gatesim.requirements.verdict import Verdict


@state
class SurvivesState:
    """The lockout stored, the one that the supply's loss found, and what was seen of it since."""

    driving: d.Driving = owned()
    tally: Tally = owned()
    stored: Lockout = Lockout.NONE
    number: int = 0
    kept: Lockout = Lockout.NONE
    at: int = 0
    evidence: tuple[int, ...] = ()
    back: bool = False


class LockoutSurvivesPowerLoss(Monitor):
    """What is in the non-volatile store when the supply goes is put out again when it is back, and no automatic start
    goes against it
    before a reset.
    """

    id: ClassVar[str] = "lockout-survives-power-loss"
    sentence: ClassVar[str] = "A lockout is still there after a power loss."
    failures: ClassVar[tuple[str, ...]] = ("forgotten", "moved against it")
    source: ClassVar[Source] = OURS
    sees: ClassVar[tuple[type, ...]] = (*d.SEES, e.StoreWritten, e.PowerReturned)
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.StoreWritten, e.PowerLost, e.PowerReturned)
    idle: ClassVar[str] = "the supply was not lost in a lockout"

    def begin(self, limit: int | None, site: Site) -> SurvivesState:
        """No lockout."""
        return SurvivesState(d.Driving(), Tally())

    def see(self, state: SurvivesState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        state.driving.see(at, event)
        if isinstance(event, e.StoreWritten):
            state.stored, state.number = event.lockout, number
        elif isinstance(event, e.PowerLost):
            if state.stored is not Lockout.NONE and state.kept is Lockout.NONE:
                state.kept, state.at, state.evidence = state.stored, at, (state.number, number)
            state.back = False
        elif state.kept is not Lockout.NONE:
            self._since(state, number, at, event)

    def _since(self, state: SurvivesState, number: int, at: int, event: Event) -> None:
        if isinstance(event, e.PowerReturned):
            state.back = True
        elif isinstance(event, e.OrdersChanged) and state.back:
            lost = [way for way in Direction if state.kept.bars(way) and not event.lockout.bars(way)]
            evidence = (*state.evidence, number)
            state.tally.take(failed("forgotten", state.at, evidence) if lost else held(state.at, evidence))
            state.back = False
        elif isinstance(event, e.LeafStarted) and state.kept.bars(event.direction):
            if state.driving.why is d.Why.START:
                state.tally.take(failed("moved against it", at, (*state.evidence, number)))
        elif isinstance(event, e.CommandReleased) and event.command is Command.RESET:
            state.kept = Lockout.NONE

    def open_cases(self, state: SurvivesState, now: int) -> Iterator[Verdict]:
        """The supply has not come back, or nothing was put out since."""
        if state.kept is not Lockout.NONE and state.tally.worst is None:
            yield undetermined(state.at, state.evidence, "nothing was seen of the controller since")


REQUIREMENT = LockoutSurvivesPowerLoss()
