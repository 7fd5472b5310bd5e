"""What the requirements on the way back share: from the deepest place to rest, after a demand."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Command, Direction, Event
from gatesim.plant.part import owned, state
from gatesim.plant.site import CountCleared, Site
from gatesim.requirements import driving as d
from gatesim.requirements.contacts import still_moving
from gatesim.requirements.leaf_view import Elsewhere
from gatesim.requirements.monitor import Monitor, Tally, failed
from gatesim.requirements.verdict import Measure, Verdict
from gatesim.units import us


@state
class BackState:
    """A demand (`asked`), the deepest place, and the way back since."""

    limit: int | None
    site: Site
    demands: d.Demands = owned()
    driving: d.Driving = owned()
    tally: Tally = owned()
    asked: int = -1
    evidence: tuple[int, ...] = ()
    deepest: int | None = None
    back: bool = False
    pressed: tuple[str, ...] = ()


class GoingBack(Monitor):
    """Base: after a first demand in one direction, the reversal from the deepest place to rest.

    Not judged: a way back that a command, a second demand or the loss of the supply cut short.
    """

    direction: ClassVar[Direction]
    """Of the interrupted movement."""
    untouched: ClassVar[bool] = False
    """Whether a leaf is judged, too, that was not touched while the other one moved and was."""
    measure: ClassVar[Measure] = Measure.UM
    sees: ClassVar[tuple[type, ...]] = (*d.SEES, *d.DEMAND_SEES, e.EdgeReleased)
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.EdgeActuated)
    idle: ClassVar[str] = "no movement was reversed after a demand"

    def begin(self, limit: int | None, site: Site) -> BackState:
        """No demand yet."""
        any_end = site.controller.count_cleared is not CountCleared.OWN_END
        return BackState(limit, site, d.Demands(any_end), d.Driving(), Tally())

    def judged(self, state: BackState, distance: int, number: int) -> Verdict:
        """The verdict on a way back that came to rest."""
        raise NotImplementedError

    def see(self, state: BackState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        demand = state.demands.see(state.driving, event)
        if isinstance(event, e.EdgeActuated):
            state.pressed += (event.edge,)
        elif isinstance(event, e.EdgeReleased):
            state.pressed = tuple(edge for edge in state.pressed if edge != event.edge)
        mine = self.untouched or not isinstance(event, Elsewhere) or state.driving.other is not self.direction
        if demand == "first" and mine and state.driving.direction is self.direction:
            state.asked, state.evidence, state.deepest, state.back = at, (number,), None, False
        elif state.asked >= 0:
            self._on_the_way(state, number, at, event, demand)
        state.driving.see(at, event)

    def _on_the_way(self, state: BackState, number: int, at: int, event: Event, demand: str) -> None:
        if isinstance(event, e.LeafStopped):
            x = us(event.x)
            if state.back and state.deepest is not None:
                state.tally.take(self.judged(state, abs(x - state.deepest), number))
                state.asked = -1
            else:
                state.deepest, state.evidence = x, (*state.evidence, number)
        elif isinstance(event, e.LeafStarted):
            if event.direction is self.direction:
                state.asked = -1
            elif state.driving.order is not None:  # else it springs back, or is pushed
                state.back, state.evidence = True, (*state.evidence, number)
        elif (
            demand == "second"
            or isinstance(event, e.PowerLost)
            or (
                isinstance(event, e.CommandPressed)
                and event.command is not Command.SILENCE
                and (event.command is Command.STOP or not state.back)
            )
        ):
            state.asked = -1
            state.tally.skipped = "the way back was cut short"

    def open_cases(self, state: BackState, now: int) -> Iterator[Verdict]:
        """A way back that still goes on."""
        if state.asked >= 0 and state.back:
            yield still_moving(state.asked, state.evidence)


def edge_pressed(state: BackState, number: int) -> Verdict:
    """An edge of the interrupted direction is still pressed at rest."""
    return failed("edge still pressed", state.asked, (*state.evidence, number), f"{state.pressed[0]} is still pressed")
