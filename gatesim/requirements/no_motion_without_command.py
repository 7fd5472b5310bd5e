"""No motion on power return, healing or reset without a fresh command."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Command, Event
from gatesim.plant.part import owned, state
from gatesim.plant.site import Site
from gatesim.requirements import disturbances as f
from gatesim.requirements import driving as d
from gatesim.requirements.monitor import Monitor, Tally, failed, held
from gatesim.requirements.profiles import OURS
from gatesim.requirements.requirement import Source
from gatesim.requirements.verdict import Verdict


@state
class UnaskedState:
    """What happened at standstill that must not move the gate."""

    site: Site
    driving: d.Driving = owned()
    wires: f.Disturbances = owned()
    tally: Tally = owned()
    failure: str = ""
    at: int = 0
    number: int = 0
    healed: tuple[f.Disturbed, ...] = ()


class NoMotionWithoutCommand(Monitor):
    """After the supply's return, the healing of a disturbed wire, or a reset, at standstill: no motion under an order
    until somebody gives
    a command to move.  A control held since before does not count.  A healed wire counts for the directions that its
    device guards.
    """

    id: ClassVar[str] = "no-motion-without-command"
    sentence: ClassVar[str] = "Returning power, a healed fault or a reset never moves the gate."
    failures: ClassVar[tuple[str, ...]] = ("moved on power return", "moved on healing", "moved on reset")
    source: ClassVar[Source] = OURS
    sees: ClassVar[tuple[type, ...]] = (*d.SEES, *f.SEES, e.PowerReturned)
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.CommandPressed, e.PowerReturned)
    idle: ClassVar[str] = "no power return, healing or reset at standstill"

    def begin(self, limit: int | None, site: Site) -> UnaskedState:
        """Nothing happened."""
        return UnaskedState(site, d.Driving(), f.Disturbances(site), Tally())

    def see(self, state: UnaskedState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        healed = self._healed(state, at, event) if isinstance(event, e.WireRestored) else ()
        state.wires.see(number, at, event)
        before = state.driving.order
        state.driving.see(at, event)
        if isinstance(event, e.PowerReturned):
            self._begin(state, number, at, "moved on power return", ())
        elif (
            healed and before is None and state.driving.resting and state.failure in ("", "moved on healing")
        ):
            self._begin(state, number, at, "moved on healing", healed)
        elif (
            isinstance(event, e.CommandReleased)
            and event.command is Command.RESET
            and before is None
            and state.driving.resting
        ):
            self._begin(state, number, at, "moved on reset", ())
        elif d.is_fresh(event):
            self._over(state, number)
        elif isinstance(event, e.LeafStarted) and state.failure:
            self._moved(state, number, at, event)

    def _healed(self, state: UnaskedState, at: int, event: e.WireRestored) -> tuple[f.Disturbed, ...]:
        return tuple(
            one
            for one in state.wires.active
            if (one.wire, one.device) == (event.wire, event.device)
            and one.found in f.BY_START
            and at - one.at >= f.known_at_start(state.site, one.carrier(state.site), one.found)
        )

    def _begin(self, state: UnaskedState, number: int, at: int, failure: str, healed: tuple[f.Disturbed, ...]) -> None:
        state.failure, state.number, state.at, state.healed = failure, number, at, healed

    def _over(self, state: UnaskedState, number: int) -> None:
        if state.failure:
            state.tally.take(held(state.at, (state.number, number)))
            state.failure = ""

    def _moved(self, state: UnaskedState, number: int, at: int, event: e.LeafStarted) -> None:
        if state.driving.why not in (d.Why.START, d.Why.REVERSAL, d.Why.RESUMED, d.Why.HOLD):
            return
        # What heals on one side cancels nothing on the other, where a pause of automatic closing may run on.
        if not state.healed or any(one.guards(event.direction) for one in state.healed):
            state.tally.take(failed(state.failure, at, (state.number, number)))
        state.failure = ""

    def open_cases(self, state: UnaskedState, now: int) -> Iterator[Verdict]:
        """Unmoved up to now."""
        if state.failure:
            yield held(state.at, (state.number,), "no motion followed")


REQUIREMENT = NoMotionWithoutCommand()
