"""The alarm lasts."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Command, Event, Origin
from gatesim.plant.part import owned, state
from gatesim.plant.site import Profile, Site
from gatesim.requirements.monitor import Monitor, Tally, at_least, undetermined
from gatesim.requirements.profiles import GATES_US, both
from gatesim.requirements.requirement import Limit, Source
from gatesim.requirements.verdict import Measure, Outcome, Verdict


@state
class SoundingState:
    """Since when the alarm sounds."""

    limit: int | None
    tally: Tally = owned()
    since: int = -1
    number: int = 0


class AlarmLasts(Monitor):
    """The alarm sounds at least 5 min (from memory), or until a wired reset.  Silencing and loss of the supply end it
    without a verdict."""

    id: ClassVar[str] = "alarm-lasts"
    sentence: ClassVar[str] = "The alarm sounds long enough, or until a reset."
    quantity: ClassVar[str] = "length of the alarm"
    measure: ClassVar[Measure] = Measure.US
    failures: ClassVar[tuple[str, ...]] = ("too short",)
    source: ClassVar[Source] = GATES_US
    least: ClassVar[bool] = True
    sees: ClassVar[tuple[type, ...]] = (e.SounderChanged, e.PowerLost, e.CommandPressed, e.CommandReleased)
    needs: ClassVar[tuple[type, ...]] = (e.SounderChanged,)
    idle: ClassVar[str] = "the alarm never sounded"

    def limits(self) -> dict[Profile, Limit | None]:
        """5 min."""
        return both(300_000_000, GATES_US)

    def begin(self, limit: int | None, site: Site) -> SoundingState:
        """Silent."""
        return SoundingState(limit, Tally())

    def see(self, state: SoundingState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        if isinstance(event, e.SounderChanged):
            if event.sounding:
                state.since, state.number = at, number
            elif state.since >= 0:
                evidence = (state.number, number)
                state.tally.take(at_least(at - state.since, state.limit, "too short", state.since, evidence))
                state.since = -1
        elif isinstance(event, e.PowerLost):
            self._excused(state, "the supply was lost")
        elif isinstance(event, e.CommandPressed) and event.command is Command.SILENCE:
            self._excused(state, "it was silenced")
        elif isinstance(event, e.CommandReleased) and (event.command, event.origin) == (Command.RESET, Origin.WIRED):
            self._excused(state, "it was reset")

    def _excused(self, state: SoundingState, why: str) -> None:
        if state.since >= 0:
            state.since, state.tally.skipped = -1, why

    def open_cases(self, state: SoundingState, now: int) -> Iterator[Verdict]:
        """An alarm that still sounds."""
        if state.since >= 0:
            so_far = at_least(now - state.since, state.limit, "", state.since, (state.number,))
            if so_far.outcome is Outcome.PASS:
                yield so_far
            else:
                yield undetermined(state.since, (state.number,), "it still sounded when the run ended")


REQUIREMENT = AlarmLasts()
