"""What the requirements on contact share: the clock from first touch to reversal, and the travel after actuation."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar, NamedTuple

from gatesim import events as e
from gatesim.events import Command, Direction, Event
from gatesim.plant.part import owned, state
from gatesim.plant.site import CountCleared, Site
from gatesim.requirements import driving as d
from gatesim.requirements.leaf_view import anywhere
from gatesim.requirements.monitor import Monitor, Tally, at_most, failed, waiting, worse
from gatesim.requirements.requirement import Run
from gatesim.requirements.verdict import Measure, Verdict
from gatesim.units import us


@state
class ByBeam:
    """Whether a beam ended the present order: what the leaf then touches says nothing of one means alone."""

    rays: tuple[tuple[str, Direction], ...] = ()
    stopped: bool = False

    def see(self, driving: d.Driving, event: Event) -> None:
        """Take over an event; call it before `driving.see`."""
        if isinstance(event, e.BeamInterrupted):
            self.rays += ((event.beam, event.direction),)
        elif isinstance(event, e.BeamCleared):
            self.rays = tuple(one for one in self.rays if one[0] != event.beam)
        elif isinstance(event, e.OrdersChanged) and event.order is None and driving.order is not None:
            self.stopped = any(way is driving.direction for _, way in self.rays)
        elif isinstance(event, e.LeafStarted):
            self.stopped = False


BEAM_STOPPED = "a beam had stopped the leaf before the touch"


class Contact(NamedTuple):
    """A first touch that waits for its reversal."""

    obstruction: str
    direction: Direction
    at: int
    felt: bool
    evidence: tuple[int, ...]


@state
class ContactState:
    """Contacts that wait, and what came of the others."""

    limit: int | None
    site: Site
    demands: d.Demands = owned()
    driving: d.Driving = owned()
    tally: Tally = owned()
    beam: ByBeam = owned()
    open: tuple[Contact, ...] = ()
    fork: int = -1
    moving_since: int = 0


class ReversalBegun(Monitor):
    """Base: from first touch (the edge's own pre-travel counts) to the leaf's speed having the other sign.

    Not judged: a contact in hold-to-run or of a leaf pushed from outside, one that is a second demand (it locks out
    instead), one
    stopped by a command first, one whose way back was pressed too, and one that ended before it could be felt; for one
    means alone, one of a leaf that a beam had stopped before.
    """

    quantity: ClassVar[str] = "first touch to reversal begun"
    measure: ClassVar[Measure] = Measure.US
    failures: ClassVar[tuple[str, ...]] = ("too late", "no reversal", "supply lost")
    sees: ClassVar[tuple[type, ...]] = (*d.SEES, *d.DEMAND_SEES, e.BeamInterrupted, e.BeamCleared)
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.ContactBegan)
    idle: ClassVar[str] = "nothing was touched by a leaf that moved by itself"

    def begin(self, limit: int | None, site: Site) -> ContactState:
        """No contact yet."""
        any_end = site.controller.count_cleared is not CountCleared.OWN_END
        return ContactState(limit, site, d.Demands(any_end), d.Driving(), Tally(), ByBeam())

    def excluded(self, state: ContactState, at: int, event: e.ContactBegan) -> str:
        """Why a contact is outside what this requirement judges; "" if it is not."""
        return ""

    def see(self, state: ContactState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        if isinstance(event, e.ContactBegan):
            self._touched(state, number, at, event)
        elif not isinstance(event, e.LeafStarted) and state.open:
            self._meanwhile(state, number, at, event)
        state.demands.see(state.driving, event)
        state.beam.see(state.driving, event)
        state.driving.see(at, event)
        if isinstance(event, e.LeafStarted):
            state.moving_since = at
            # A released leaf springs back a little; that is no reversal, and nobody ordered it.
            if state.driving.why not in (d.Why.SPRUNG, d.Why.PUSHED, d.Why.UNORDERED):
                self._reversed(state, number, at, event.direction)

    def _touched(self, state: ContactState, number: int, at: int, event: e.ContactBegan) -> None:
        if (state.fork >= 0 and at > state.fork) or event.direction is not state.driving.direction:
            return
        if not state.driving.automatic:
            why = "the leaf did not move by itself"
        elif state.demands.interrupted is not None and not state.demands.served:
            why = "a second demand locks out instead"
        elif self.run is not Run.WHOLE and state.beam.stopped:
            why = BEAM_STOPPED
        else:
            why = self.excluded(state, at, event)
        if why:
            state.tally.skipped = why
        else:
            state.open += (Contact(event.obstruction, event.direction, at, False, (number,)),)

    def _reversed(self, state: ContactState, number: int, at: int, direction: Direction) -> None:
        for one in state.open:
            if one.direction is direction.other:
                state.tally.take(at_most(at - one.at, state.limit, "too late", one.at, (*one.evidence, number)))
        state.open = tuple(one for one in state.open if one.direction is direction)

    def _meanwhile(self, state: ContactState, number: int, at: int, event: Event) -> None:
        pressed = anywhere(event)
        if isinstance(pressed, e.EdgeActuated) and any(one.direction is pressed.direction.other for one in state.open):
            self._drop(state, "the way back was pressed as well")
        if isinstance(event, (e.EdgeActuated, e.ForceTripped)):
            state.open = tuple(one._replace(felt=True, evidence=(*one.evidence, number)) for one in state.open)
        elif isinstance(event, e.ContactEnded):
            left = [one for one in state.open if one.obstruction == event.obstruction and not one.felt]
            if left:
                state.tally.skipped = "the touch ended before it could be felt"
                state.open = tuple(one for one in state.open if one not in left)
        elif isinstance(event, e.CommandPressed) and event.command in (
            Command.STOP,
            Command.HOLD_OPEN,
            Command.HOLD_CLOSE,
        ):
            self._drop(state, "a command stopped the leaf first")
        elif isinstance(event, e.PowerLost):
            for one in state.open:
                state.tally.take(failed("supply lost", one.at, (*one.evidence, number)))
            state.open = ()

    def _drop(self, state: ContactState, why: str) -> None:
        state.tally.skipped, state.open = why, ()

    def open_cases(self, state: ContactState, now: int) -> Iterator[Verdict]:
        """Contacts without a reversal yet."""
        for one in state.open:
            yield waiting(one.at, now, state.limit, "no reversal", one.evidence)

    def settled(self, state: ContactState) -> bool:
        """No contact waits."""
        return not state.open

    def forked(self, state: ContactState, now: int) -> None:
        """Only the contacts of this instant count."""
        state.fork, state.tally = now, Tally(None, state.tally.skipped)
        state.open = tuple(one for one in state.open if one.at == now)


class Pressing(NamedTuple):
    """An edge touched, and from `x` on actuated (None: not yet)."""

    edge: str
    obstruction: str
    direction: Direction
    at: int
    overtravel: int
    x: int | None
    evidence: tuple[int, ...]


@state
class TravelState:
    """Edges touched and pressed, and what came of the others."""

    limit: int | None
    driving: d.Driving = owned()
    tally: Tally = owned()
    beam: ByBeam = owned()
    open: tuple[Pressing, ...] = ()
    fork: int = -1


class TravelAfterActuation(Monitor):
    """Base: from the place where the edge actuated to the deepest place of the leaf, against the overtravel that the
    edge has
    left at the force limit (site data, carried by the contact).  A limit given by the site or a scenario counts where
    it is less.  For one means alone, a contact of a leaf that a beam had stopped before is not judged.
    """

    quantity: ClassVar[str] = "travel after the edge actuated"
    measure: ClassVar[Measure] = Measure.UM
    failures: ClassVar[tuple[str, ...]] = ("too far",)
    sees: ClassVar[tuple[type, ...]] = (*d.SEES, e.EdgeActuated, e.EdgeReleased, e.BeamInterrupted, e.BeamCleared)
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.ContactBegan, e.EdgeActuated)
    idle: ClassVar[str] = "no edge was actuated by a touch"

    def begin(self, limit: int | None, site: Site) -> TravelState:
        """No edge touched yet."""
        return TravelState(limit, d.Driving(), Tally(), ByBeam())

    def see(self, state: TravelState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        if isinstance(event, e.ContactBegan):
            new = state.fork < 0 or at <= state.fork
            if self.run is not Run.WHOLE and state.beam.stopped:
                state.tally.skipped = BEAM_STOPPED
            elif new and event.edge and state.driving.driven and event.direction is state.driving.direction:
                state.open += (
                    Pressing(event.edge, event.obstruction, event.direction, at, us(event.overtravel), None, (number,)),
                )
        elif isinstance(event, e.EdgeActuated):
            state.open = tuple(
                one._replace(x=us(event.x), evidence=(*one.evidence, number))
                if one.edge == event.edge and one.x is None
                else one
                for one in state.open
            )
        elif isinstance(event, e.LeafStopped):
            self._end(state, number, us(event.x), state.open)
        elif isinstance(event, e.ContactEnded):
            gone = tuple(one for one in state.open if one.obstruction == event.obstruction)
            self._end(state, number, state.driving.position(at), gone)
        state.beam.see(state.driving, event)
        state.driving.see(at, event)

    def _end(self, state: TravelState, number: int, x: int, ended: tuple[Pressing, ...]) -> None:
        for one in ended:
            if one.x is not None:
                state.tally.take(self._judged(state, one, x, number))
        state.open = tuple(one for one in state.open if one not in ended)

    def _judged(self, state: TravelState, one: Pressing, x: int, *numbers: int) -> Verdict:
        limit = one.overtravel if state.limit is None else min(state.limit, one.overtravel)
        travel = (x - (one.x or 0)) * one.direction.sign
        return at_most(max(travel, 0), limit, "too far", one.at, (*one.evidence, *numbers))

    def open_cases(self, state: TravelState, now: int) -> Iterator[Verdict]:
        """Edges pressed by a leaf that still moves."""
        for one in state.open:
            if one.x is not None:
                so_far = self._judged(state, one, state.driving.position(now))
                yield worse(so_far, still_moving(one.at, one.evidence))

    def settled(self, state: TravelState) -> bool:
        """No edge is touched by a leaf that still moves."""
        return not state.open

    def forked(self, state: TravelState, now: int) -> None:
        """Only the contacts of this instant count."""
        state.fork, state.tally = now, Tally(None, state.tally.skipped)
        state.open = tuple(one for one in state.open if one.at == now)


def still_moving(at: int, evidence: tuple[int, ...]) -> Verdict:
    """What can be said of a distance while the leaf still moves."""
    return waiting(at, at, None, "", evidence)._replace(reason="the leaf still moved when the run ended")
