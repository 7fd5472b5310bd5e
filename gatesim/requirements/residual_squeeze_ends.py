"""The residual squeeze ends."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Event
from gatesim.plant.part import owned, state
from gatesim.plant.site import Profile, Site
from gatesim.requirements import force_level as fl
from gatesim.requirements.monitor import Monitor, Tally, at_most, waiting
from gatesim.requirements.profiles import FORCES, both
from gatesim.requirements.requirement import Limit, Source
from gatesim.requirements.verdict import Measure, Verdict

_LEVEL = 25_000


@state
class SqueezeState:
    """Who is pressed with more than 25 N, and who was so when the leaf came to rest."""

    limit: int | None
    tally: Tally = owned()
    above: tuple[fl.Above, ...] = ()
    held: tuple[fl.Above, ...] = ()


class ResidualSqueezeEnds(Monitor):
    """From the leaf's standstill against an obstruction until the force is below 25 N: at most 5 s.  A European
    figure, taken over
    in the other profile too.
    """

    id: ClassVar[str] = "residual-squeeze-ends"
    sentence: ClassVar[str] = "After the leaf has stopped against an obstruction, the squeeze falls below 25 N in time."
    quantity: ClassVar[str] = "standstill to force below 25 N"
    measure: ClassVar[Measure] = Measure.US
    failures: ClassVar[tuple[str, ...]] = ("squeeze held",)
    source: ClassVar[Source] = FORCES
    sees: ClassVar[tuple[type, ...]] = (*fl.SEES, e.LeafStopped)
    needs: ClassVar[tuple[type, ...]] = (e.ForceRose, e.ForceFell, e.LeafStopped)
    idle: ClassVar[str] = "the leaf never stood against an obstruction with more than 25 N"

    def limits(self) -> dict[Profile, Limit | None]:
        """5 s."""
        return both(5_000_000, FORCES)

    def begin(self, limit: int | None, site: Site) -> SqueezeState:
        """Nothing touched."""
        return SqueezeState(limit, Tally())

    def see(self, state: SqueezeState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        state.above = fl.above(state.above, _LEVEL, number, at, event)
        names = [one.obstruction for one in state.above]
        for one in state.held:
            if one.obstruction not in names:
                state.tally.take(at_most(at - one.at, state.limit, "squeeze held", one.at, (one.number, number)))
        state.held = tuple(one for one in state.held if one.obstruction in names)
        if isinstance(event, e.LeafStopped):
            known = [one.obstruction for one in state.held]
            state.held += tuple(fl.Above(name, at, number) for name in names if name not in known)

    def open_cases(self, state: SqueezeState, now: int) -> Iterator[Verdict]:
        """Who is still squeezed."""
        for one in state.held:
            yield waiting(one.at, now, state.limit, "squeeze held", (one.number,))


REQUIREMENT = ResidualSqueezeEnds()
