"""The force is above 150 N for a short time only."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Event
from gatesim.plant.part import owned, state
from gatesim.plant.site import Profile, Site
from gatesim.requirements import force_level as fl
from gatesim.requirements.monitor import Monitor, Tally, at_most, waiting
from gatesim.requirements.profiles import FORCES, proved_force
from gatesim.requirements.requirement import Limit, Source
from gatesim.requirements.verdict import Measure, Verdict

_LEVEL = 150_000


@state
class AboveState:
    """Who is pressed with more than 150 N."""

    limit: int | None
    tally: Tally = owned()
    above: tuple[fl.Above, ...] = ()


class TimeAbove150N(Monitor):
    """The time above the force, not from contact.  A computed force is no proof: it is proved by measurement at the
    gate."""

    id: ClassVar[str] = "time-above-150-n"
    sentence: ClassVar[str] = "The contact force stays above 150 N for a short time only."
    quantity: ClassVar[str] = "time above 150 N"
    measure: ClassVar[Measure] = Measure.US
    failures: ClassVar[tuple[str, ...]] = ("too long",)
    source: ClassVar[Source] = FORCES
    sees: ClassVar[tuple[type, ...]] = fl.SEES
    needs: ClassVar[tuple[type, ...]] = (e.ForceRose, e.ForceFell)
    idle: ClassVar[str] = "the contact force never passed 150 N"

    def limits(self) -> dict[Profile, Limit | None]:
        """0.75 s."""
        return proved_force(750_000, FORCES)

    def begin(self, limit: int | None, site: Site) -> AboveState:
        """Nothing touched."""
        return AboveState(limit, Tally())

    def see(self, state: AboveState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        before = state.above
        state.above = fl.above(before, _LEVEL, number, at, event)
        for one in before:
            if one not in state.above:
                state.tally.take(at_most(at - one.at, state.limit, "too long", one.at, (one.number, number)))

    def open_cases(self, state: AboveState, now: int) -> Iterator[Verdict]:
        """Who is still pressed."""
        for one in state.above:
            yield waiting(one.at, now, state.limit, "too long", (one.number,))


REQUIREMENT = TimeAbove150N()
