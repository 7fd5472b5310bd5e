"""Overtravel against stopping distance: the trade's rule."""

from __future__ import annotations

from collections.abc import Iterator
from math import isqrt
from typing import ClassVar

from gatesim import events as e
from gatesim.events import Event
from gatesim.plant.motion import sqrt
from gatesim.plant.part import owned, state
from gatesim.plant.site import Site
from gatesim.requirements import driving as d
from gatesim.requirements.monitor import Monitor, Tally, at_most
from gatesim.requirements.profiles import PRACTICE
from gatesim.requirements.reach import Reach, Stretch, reaches_of
from gatesim.requirements.requirement import Source
from gatesim.requirements.verdict import Measure, Verdict
from gatesim.units import us, whole


@state
class MarginState:
    """The edges, the piece of motion under way, and the worst so far."""

    limit: int | None
    reaches: tuple[Reach, ...]
    driving: d.Driving = owned()
    tally: Tally = owned()
    begun: tuple[int, ...] = ()
    """The event that began the present piece."""
    highest: tuple[int, ...] = ()
    """The highest speed so far (um/s) on each stretch, in the order of the edges."""


class OvertravelMargin(Monitor):
    """For each edge in its direction of motion, at the highest speed that the run shows on each stretch of its zone:
    what the gate still moves after actuation (scan, debounce, latency and spread, all frames but the last lost,
    controller, stopping delay, stopping distance of the heaviest leaf) against what the edge still gives (the stiffest
    edge, actuated at the latest; up to the profile's force limit for the gap, or to its end if that comes first).  A
    limit given by the site or a scenario counts where it is less.
    """

    id: ClassVar[str] = "overtravel-margin"
    sentence: ClassVar[str] = (
        "What each edge can still give after it has actuated is enough for what the gate still moves, every tolerance "
        "at its worst."
    )
    quantity: ClassVar[str] = "travel after actuation at the worst"
    measure: ClassVar[Measure] = Measure.UM
    failures: ClassVar[tuple[str, ...]] = ("overtravel too short",)
    source: ClassVar[Source] = PRACTICE
    sees: ClassVar[tuple[type, ...]] = d.SEES
    needs: ClassVar[tuple[type, ...]] = (*d.NEEDS, e.MotionChanged)
    idle: ClassVar[str] = "the leaf never moved under an order toward what an edge guards"

    def begin(self, limit: int | None, site: Site) -> MarginState:
        """Nothing moved."""
        reaches = tuple(reaches_of(site))
        highest = (0,) * sum(len(reach.stretches) for reach in reaches)
        return MarginState(limit, reaches, d.Driving(), Tally(), (), highest)

    def see(self, state: MarginState, number: int, at: int, event: Event) -> None:
        """Take one event."""
        if isinstance(event, e.MotionChanged | e.LeafStopped):
            self._ended(state, number, at)
            state.begun = (number,)
        state.driving.see(at, event)

    def _ended(self, state: MarginState, number: int, at: int) -> None:
        highest = list(state.highest)
        for k, speed, verdict in self._piece(state, at, (*state.begun, number)):
            highest[k] = speed
            state.tally.take(verdict)
        state.highest = tuple(highest)

    def _piece(self, state: MarginState, now: int, evidence: tuple[int, ...]) -> Iterator[tuple[int, int, Verdict]]:
        """Where the present piece of motion is the fastest so far: number of the stretch, speed, verdict."""
        if not state.driving.driven:
            return
        k = -1
        for reach in state.reaches:
            for stretch in reach.stretches:
                k += 1
                mine = state.driving.leaf in (None, reach.leaf)
                if mine and reach.direction is state.driving.direction:
                    speed = _fastest(state.driving, now, stretch)
                    if speed > state.highest[k]:
                        yield k, speed, self._judged(state, reach, stretch, speed, evidence)

    def _judged(self, state: MarginState, reach: Reach, stretch: Stretch, speed: int,
                evidence: tuple[int, ...]) -> Verdict:
        give = us(stretch.give)
        limit = give if state.limit is None else min(state.limit, give)
        # A number that depends on a moment has no text.
        pace = f"{speed / 1000:.0f} mm/s; " if speed.__class__ is int else ""
        said = f"{reach.edge}, {stretch.what}, {pace}it gives {stretch.until}"
        moved = us(reach.moved(speed / 1_000_000))
        return at_most(moved, limit, "overtravel too short", state.driving.since, evidence, said)

    def open_cases(self, state: MarginState, now: int) -> Iterator[Verdict]:
        """The piece of motion under way."""
        for _, _, verdict in self._piece(state, now, state.begun):
            yield verdict


def _fastest(driving: d.Driving, now: int, stretch: Stretch) -> int:
    """The highest speed (um/s, rounded up) of the present piece of motion on a stretch; 0 where it was not there."""
    begun, ended = (driving.x, driving.speed(driving.since)), (driving.position(now), driving.speed(now))
    (low, at_low), (high, at_high) = (ended, begun) if ended[0] < begun[0] else (begun, ended)
    least, most = us(stretch.low), us(stretch.high)
    if low > most or high < least:
        return 0
    if low < least:
        at_low = _passing(driving, least)
    if high > most:
        at_high = _passing(driving, most)
    return max(at_low, at_high)


def _passing(driving: d.Driving, x: int) -> int:
    """The speed (um/s, rounded up) at which the present piece of motion passes a place."""
    square = whole(driving.v * driving.v + 2 * driving.a * (x - driving.x))
    if square <= 0:
        return 0
    # A place passed before what is traced began has a plain square.
    return isqrt(square - 1) + 1 if square.__class__ is int else whole(sqrt(square))


REQUIREMENT = OvertravelMargin()
