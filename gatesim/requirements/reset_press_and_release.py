"""A lockout ends only by a wired reset, pressed and released."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Command, Direction, Event, Lockout, Origin
from gatesim.plant.part import owned, state
from gatesim.plant.site import Site
from gatesim.requirements.monitor import Monitor, Tally, failed, held
from gatesim.requirements.profiles import OURS
from gatesim.requirements.requirement import Source
from gatesim.requirements.verdict import Verdict

REACTS = 500_000
"""How long (us) a controller may take from the release to its order to the store: many scans of a slow one (ours)."""


@state
class ResetState:
    """The lockout in the store, and the reset that came."""

    window: int
    store: int
    tally: Tally = owned()
    lockout: Lockout = Lockout.NONE
    number: int = 0
    pressed: int = -1
    good: int = -1
    tried: str = ""
    tried_by: int = 0


class ResetPressAndRelease(Monitor):
    """The lockout in the store may only shrink right after a reset from the wired control at the gate was pressed and
    released within the
    reset window of the site.  Held too long, or from elsewhere, it does nothing.
    """

    id: ClassVar[str] = "reset-press-and-release"
    sentence: ClassVar[str] = "A lockout ends only by a wired reset that is pressed and released in time."
    failures: ClassVar[tuple[str, ...]] = (
        "cleared without a reset",
        "cleared by a held reset",
        "cleared from elsewhere",
    )
    source: ClassVar[Source] = OURS
    sees: ClassVar[tuple[type, ...]] = (e.StoreWritten, e.CommandPressed, e.CommandReleased)
    needs: ClassVar[tuple[type, ...]] = (e.StoreWritten, e.CommandPressed, e.CommandReleased)
    idle: ClassVar[str] = "no reset was tried in a lockout"

    def begin(self, limit: int | None, site: Site) -> ResetState:
        """No lockout."""
        return ResetState(site.controller.reset_window, site.controller.store_write, Tally())

    def see(self, state: ResetState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        if isinstance(event, e.StoreWritten):
            if _shrinks(state.lockout, event.lockout):
                self._cleared(state, number, at)
            state.lockout, state.number = event.lockout, number
        elif isinstance(event, e.CommandPressed) and event.command is Command.RESET:
            self._pressed(state, number, at, event.origin)
        elif isinstance(event, e.CommandReleased) and (event.command, event.origin) == (Command.RESET, Origin.WIRED):
            if state.pressed >= 0 and at - state.pressed <= state.window:
                state.good = at
            state.pressed = -1

    def _pressed(self, state: ResetState, number: int, at: int, origin: Origin) -> None:
        if state.lockout is not Lockout.NONE:
            state.tried, state.tried_by = "cleared by a held reset", number
            if origin is not Origin.WIRED:
                state.tried = "cleared from elsewhere"
        if origin is Origin.WIRED:
            state.pressed = at

    def _cleared(self, state: ResetState, number: int, at: int) -> None:
        evidence = (state.number, state.tried_by, number) if state.tried else (state.number, number)
        if state.good >= 0 and state.good <= at <= state.good + state.store + REACTS:
            state.tally.take(held(at, evidence))
        else:
            state.tally.take(failed(state.tried or "cleared without a reset", at, evidence))
        state.tried = ""

    def open_cases(self, state: ResetState, now: int) -> Iterator[Verdict]:
        """A reset that did nothing so far."""
        if state.tried:
            yield held(now, (state.number, state.tried_by), "the lockout stayed")


def _shrinks(before: Lockout, after: Lockout) -> bool:
    return before is not after and any(before.bars(way) and not after.bars(way) for way in Direction)


REQUIREMENT = ResetPressAndRelease()
