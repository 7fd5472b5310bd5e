"""An interrupted beam that guards the motion reverses the leaf in time."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Command, Direction, Event, Guard
from gatesim.plant.part import owned, state
from gatesim.plant.site import Profile, Site
from gatesim.requirements import disturbances as f
from gatesim.requirements import driving as d
from gatesim.requirements.monitor import Monitor, Tally, at_most, waiting
from gatesim.requirements.profiles import ACTIVATION, OURS, both
from gatesim.requirements.requirement import Limit, Source
from gatesim.requirements.verdict import Measure, Verdict


@state
class BeamState:
    """An interruption that waits for its reversal, and what lies on the way back."""

    limit: int | None
    site: Site
    driving: d.Driving = owned()
    wires: f.Disturbances = owned()
    pressed: d.Pressed = owned()
    tally: Tally = owned()
    way: Direction | None = None
    beam: str = ""
    at: int = 0
    evidence: tuple[int, ...] = ()
    interrupted: tuple[tuple[str, Direction], ...] = ()


class BeamReversalBegun(Monitor):
    """From the ray interrupted, physically, to the leaf's speed having the other sign, while the leaf moves by itself
    towards what the beam guards after an automatic start.  2 s is taken over from the clause on contact; for beams it
    is ours.

    Not judged: an interruption gone before the input could see it, one that a command, a touch or a press, the
    movement's own end, a fault of the drive or the loss of the supply overtook, and one whose way back was not clear
    and in order either.  Of two leaves those are judged that the beam guards.
    """

    id: ClassVar[str] = "beam-reversal-begun"
    sentence: ClassVar[str] = "An interrupted beam that guards the motion reverses the leaf in time."
    quantity: ClassVar[str] = "ray interrupted to reversal begun"
    measure: ClassVar[Measure] = Measure.US
    failures: ClassVar[tuple[str, ...]] = ("too late", "no reversal")
    source: ClassVar[Source] = ACTIVATION
    sees: ClassVar[tuple[type, ...]] = (
        *d.SEES,
        *f.SEES,
        *d.DEMAND_SEES,
        e.EdgeReleased,
        e.BeamInterrupted,
        e.BeamCleared,
    )
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.BeamInterrupted)
    idle: ClassVar[str] = "no beam ahead of a leaf that moved by itself was interrupted"

    def limits(self) -> dict[Profile, Limit | None]:
        """2 s (ours)."""
        return both(2_000_000, OURS)

    def begin(self, limit: int | None, site: Site) -> BeamState:
        """Every ray clear."""
        return BeamState(limit, site, d.Driving(), f.Disturbances(site), d.Pressed(), Tally())

    def see(self, state: BeamState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        begun = state.wires.see(number, at, event)
        state.pressed.see(event)
        if isinstance(event, e.BeamInterrupted):
            state.interrupted += ((event.beam, event.direction),)
            self._interrupted(state, number, at, event)
        elif isinstance(event, e.BeamCleared):
            state.interrupted = tuple(one for one in state.interrupted if one[0] != event.beam)
            self._cleared(state, at, event.beam)
        elif begun is not None and begun.guard is Guard.DRIVE and state.way is not None:
            self._drop(state, "the drive itself failed")
        elif state.way is not None:
            self._meanwhile(state, number, at, event)
        state.driving.see(at, event)

    def _interrupted(self, state: BeamState, number: int, at: int, event: e.BeamInterrupted) -> None:
        moving = state.driving.direction is event.direction and state.driving.order is event.direction
        mine = event.beam in f.beams_guarding(state.site, event.direction, state.driving.leaf)
        if state.way is None and moving and mine and state.driving.why in (d.Why.START, d.Why.RESUMED):
            if _is_clear(state, event.direction.other):
                state.way, state.beam, state.at, state.evidence = event.direction, event.beam, at, (number,)
            else:
                state.tally.skipped = "the way back was not clear and in order"

    def _cleared(self, state: BeamState, at: int, name: str) -> None:
        beam = f.beam_of(state.site, name)
        waits = state.way is not None and name == state.beam and state.driving.order is state.way
        if waits and beam is not None and at - state.at <= f.seen_by(beam):
            self._drop(state, "the ray was clear again before it could be seen")

    def _meanwhile(self, state: BeamState, number: int, at: int, event: Event) -> None:
        if isinstance(event, e.LeafStarted):
            if state.way is event.direction.other and state.driving.order is event.direction:
                verdict = at_most(at - state.at, state.limit, "too late", state.at, (*state.evidence, number))
                state.tally.take(verdict)
                state.way = None
        elif isinstance(event, e.LeafStopped):
            state.evidence = (*state.evidence, number)
            if state.driving.completed:
                self._drop(state, "the movement had reached its own end")
        elif isinstance(event, e.EdgeActuated | e.ForceTripped):
            if state.driving.order is state.way or event.direction is not state.way:
                self._drop(state, "a press or trip came first")
        elif isinstance(event, e.PowerLost):
            self._drop(state, "the supply was lost")
        elif isinstance(event, e.CommandPressed) and event.command is not Command.SILENCE:
            self._drop(state, "a command came first")

    def _drop(self, state: BeamState, why: str) -> None:
        state.way, state.tally.skipped = None, why

    def open_cases(self, state: BeamState, now: int) -> Iterator[Verdict]:
        """No reversal yet."""
        if state.way is not None:
            yield waiting(state.at, now, state.limit, "no reversal", state.evidence)


def _is_clear(state: BeamState, back: Direction) -> bool:
    """Whether nothing on the way back is interrupted or pressed, and neither a guard of it nor the drive disturbed."""
    there = state.pressed.on(back) or any(way is back for _, way in state.interrupted)
    return not there and not any(
        one.guards(back) or one.guard is Guard.DRIVE for one in state.wires.active
    )


REQUIREMENT = BeamReversalBegun()
