"""The alarm outlives a power loss."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Command, Event, Origin
from gatesim.plant.part import owned, state
from gatesim.plant.site import Profile, Site
from gatesim.requirements.monitor import Monitor, Tally, at_most, undetermined, waiting
from gatesim.requirements.profiles import OURS, both
from gatesim.requirements.requirement import Limit, Source
from gatesim.requirements.verdict import Measure, Verdict


@state
class AlarmState:
    """Whether the alarm sounds, sounded when the supply went, and is awaited."""

    limit: int | None
    tally: Tally = owned()
    sounds: bool = False
    dark: bool = False
    cut: int = -1
    since: int = -1
    evidence: tuple[int, ...] = ()


class AlarmOutlivesPowerLoss(Monitor):
    """An alarm that sounds when the supply goes sounds again when it is back.  Silencing or a reset in between excuses
    it."""

    id: ClassVar[str] = "alarm-outlives-power-loss"
    sentence: ClassVar[str] = "An alarm cut off by a power loss sounds again when the supply is back."
    quantity: ClassVar[str] = "supply back to alarm"
    measure: ClassVar[Measure] = Measure.US
    failures: ClassVar[tuple[str, ...]] = ("too late", "silent after the power loss")
    source: ClassVar[Source] = OURS
    sees: ClassVar[tuple[type, ...]] = (
        e.SounderChanged,
        e.PowerLost,
        e.PowerReturned,
        e.CommandPressed,
        e.CommandReleased,
    )
    needs: ClassVar[tuple[type, ...]] = (e.SounderChanged, e.PowerLost, e.PowerReturned)
    idle: ClassVar[str] = "the supply was not lost while the alarm sounded"

    def limits(self) -> dict[Profile, Limit | None]:
        """1 s."""
        return both(1_000_000, OURS)

    def begin(self, limit: int | None, site: Site) -> AlarmState:
        """Silent."""
        return AlarmState(limit, Tally())

    def see(self, state: AlarmState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        if isinstance(event, e.SounderChanged):
            if event.sounding and state.since >= 0:
                state.tally.take(
                    at_most(at - state.since, state.limit, "too late", state.since, (*state.evidence, number))
                )
                state.since = -1
            # What goes silent with the supply was cut off, not ended.
            state.sounds = event.sounding
        elif isinstance(event, e.PowerLost):
            waits = state.since >= 0
            state.dark = True
            if state.sounds or waits:
                state.cut, state.since = at, -1
                state.evidence = (number,)
        elif isinstance(event, e.PowerReturned):
            state.dark = False
            if state.cut >= 0:
                state.since, state.cut, state.evidence = at, -1, (*state.evidence, number)
        elif not state.dark and _ends(event):
            state.since = -1

    def open_cases(self, state: AlarmState, now: int) -> Iterator[Verdict]:
        """An alarm awaited, or the supply not back."""
        if state.since >= 0:
            yield waiting(state.since, now, state.limit, "silent after the power loss", state.evidence)
        elif state.cut >= 0:
            yield undetermined(state.cut, state.evidence, "the supply did not come back")


def _ends(event: Event) -> bool:
    if isinstance(event, e.CommandPressed):
        return event.command is Command.SILENCE
    return isinstance(event, e.CommandReleased) and (event.command, event.origin) == (Command.RESET, Origin.WIRED)


REQUIREMENT = AlarmOutlivesPowerLoss()
