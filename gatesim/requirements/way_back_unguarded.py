"""Where nothing healthy guards the way back, the leaf goes back by the relief distance at most."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Direction, Event
from gatesim.plant.part import owned, state
from gatesim.plant.site import Site
from gatesim.requirements import disturbances as f
from gatesim.requirements import driving as d
from gatesim.requirements.contacts import still_moving
from gatesim.requirements.monitor import Monitor, Tally, at_most, undetermined, worse
from gatesim.requirements.profiles import OURS
from gatesim.requirements.requirement import Source
from gatesim.requirements.verdict import Measure, Verdict
from gatesim.units import us


@state
class BackState:
    """A movement whose way back is unguarded, and how far the leaf went back."""

    limit: int
    site: Site
    driving: d.Driving = owned()
    wires: f.Disturbances = owned()
    tally: Tally = owned()
    way: Direction | None = None
    at: int = 0
    number: int = 0
    from_x: int | None = None
    back: bool = False


class WayBackUnguarded(Monitor):
    """A fault of a device that guards the motion, while every edge and beam that guards the way back is disturbed too
    (two edges on one transmitter and the link gone; the receiver dead): stop without reversing, or go back by the
    relief distance and the run-out of the stop at most.  A reversal that began before the device's detection limit is
    not judged.  Only sites with an edge or beam on the way back are.
    """

    id: ClassVar[str] = "way-back-unguarded"
    sentence: ClassVar[str] = (
        "Where nothing healthy guards the way back, the leaf goes back by the relief distance at most."
    )
    quantity: ClassVar[str] = "distance gone back"
    measure: ClassVar[Measure] = Measure.UM
    failures: ClassVar[tuple[str, ...]] = ("too far",)
    source: ClassVar[Source] = OURS
    sees: ClassVar[tuple[type, ...]] = (*d.SEES, *f.SEES)
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.WireDisturbed)
    idle: ClassVar[str] = "no fault took away the guards of both directions in motion"

    def begin(self, limit: int | None, site: Site) -> BackState:
        """No fault."""
        own = us(site.controller.opening_relief) + d.run_out(site)
        return BackState(own if limit is None else min(own, limit), site, d.Driving(), f.Disturbances(site), Tally())

    def see(self, state: BackState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        begun = state.wires.see(number, at, event)
        if begun is not None and state.way is None:
            self._consider(state, number, at)
        elif isinstance(event, e.WireRestored) and state.way is not None and not self._unguarded(state, state.way):
            state.way, state.tally.skipped = None, "a guard came back"
        elif state.way is not None:
            self._follow(state, number, at, event)
        state.driving.see(at, event)

    def _consider(self, state: BackState, number: int, at: int) -> None:
        way = state.driving.direction
        if way is not None and state.driving.why in (d.Why.START, d.Why.RESUMED) and self._unguarded(state, way):
            state.way, state.at, state.number, state.from_x, state.back = way, at, number, None, False

    def _unguarded(self, state: BackState, way: Direction) -> bool:
        """Whether all guards of the way back, and one of this way, are disturbed in a way that is found in motion."""
        active = [one for one in state.wires.active if one.found in f.RUNNING]
        behind = f.guarding(state.site, way.other, state.driving.leaf)
        behind += f.beams_guarding(state.site, way.other, state.driving.leaf)
        covered = [edge for edge in behind if any(_takes(state.site, one, edge, way.other) for one in active)]
        return bool(behind) and len(covered) == len(behind) and any(one.guards(way) for one in active)

    def _follow(self, state: BackState, number: int, at: int, event: Event) -> None:
        if isinstance(event, e.LeafStopped):
            if state.back:
                self._judge(state, us(event.x), number)
            elif state.driving.completed:
                state.way, state.tally.skipped = None, "the movement had reached its own end"
            else:
                state.from_x = us(event.x)
        elif isinstance(event, e.LeafStarted) and event.direction is not state.way:
            newest = max(one.at + f.known_in_motion(state.site, one.carrier(state.site), one.found)
                         for one in state.wires.active)
            if at < newest:
                state.way, state.tally.skipped = None, "the leaf went back before the fault could be known"
            state.back = True
        elif isinstance(event, e.CommandPressed) and state.from_x is not None and not state.back:
            self._judge(state, state.from_x, number)
        elif isinstance(event, e.PowerLost):
            state.way, state.tally.skipped = None, "the supply was lost"

    def _judge(self, state: BackState, x: int, *numbers: int) -> None:
        start = x if state.from_x is None else state.from_x
        state.tally.take(at_most(abs(x - start), state.limit, "too far", state.at, (state.number, *numbers)))
        state.way = None

    def open_cases(self, state: BackState, now: int) -> Iterator[Verdict]:
        """A leaf that still moves, or that stands and has not gone back."""
        if state.way is None:
            return
        evidence, start = (state.number,), state.from_x
        if start is None:
            yield undetermined(state.at, evidence, "the leaf still moved when the run ended")
        elif state.back:
            so_far = at_most(abs(state.driving.position(now) - start), state.limit, "too far", state.at, evidence)
            yield worse(so_far, still_moving(state.at, evidence))
        elif now - state.driving.since > state.site.controller.reversal_dwell + state.site.drive.start_delay:
            yield at_most(0, state.limit, "", state.at, evidence)
        else:
            yield undetermined(state.at, evidence, "the run ended before it could have gone back")


def _takes(site: Site, one: f.Disturbed, edge: str, way: Direction) -> bool:
    """Whether a disturbance takes an edge away: its own wires, its transmitter's, or the receiver's."""
    if f.beam_of(site, one.device) is not None or f.beam_of(site, edge) is not None:
        return one.device == edge  # a beam has its own wires, and no transmitter or receiver takes it away
    edges = f.edges_on(site, one.carrier(site))
    return edge in edges if edges else one.guards(way)


REQUIREMENT = WayBackUnguarded()
