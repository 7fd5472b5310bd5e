"""The radio path between a transmitter and the receiver, both ways (docs/timing.md, section 6).

Up: each frame is lost by a draw, or heard `latency` + draw after sending.  A lost frame takes no draw of delay.
Down: `latency`, no spread, no loss of its own.

The causes of loss are independent: the plain chance, the link budget at the leaf's place, and the state of bursts.  One
draw decides over all of them together.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import FrameArrived, Stimulus
from gatesim.plant.burst_state import BurstChain, chain_of
from gatesim.plant.given import Given
from gatesim.plant.leaves import leaf_of_input, travel_with
from gatesim.plant.link_budget import Link, link_of
from gatesim.plant.motion import at
from gatesim.plant.part import Bench, Out, Part, Phase, Wire, state
from gatesim.plant.site import Site
from gatesim.plant.wires import Downlink, Heard, MarginTaken, Motion, ToldMotion, Uplink
from gatesim.units import FOREVER, Duration, Share

LOSS, SPREAD, BURST = 0, 1, 2
"""Streams."""

CHANCES = 1_000_000_000
"""A loss is decided by a whole draw below this."""

InFlight = tuple[tuple[float, Any], ...]
"""(arrival, message), in order of arrival; equal arrivals in order of sending."""


def launch(flying: InFlight, arrival: float, message: Any) -> InFlight:
    """One more message on its way."""
    if not flying:
        return ((arrival, message),)
    at = len(flying)
    while at > 0 and flying[at - 1][0] > arrival:
        at -= 1
    return (*flying[:at], (arrival, message), *flying[at:])


@state
class RadioPathState:
    """What is on its way."""

    up: InFlight
    down: InFlight
    bad: bool = False
    """Whether the path was in its bad state when last looked at, at `looked` (bursts only)."""
    looked: float = 0.0


@dataclass(frozen=True, slots=True)
class RadioPath:
    """The path of one transmitter."""

    name: str
    latency: Duration
    latency_spread: Duration
    loss: Share
    link: Link | None = None
    bursts: BurstChain | None = None
    of: str = ""
    """What the wires of the leaf that it moves with are named by."""

    phase: ClassVar[Phase] = Phase.ARRIVE
    rank: ClassVar[int] = 50
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    def reads(self) -> tuple[Wire, ...]:
        air = () if self.link is None else (Motion(self.of), MarginTaken(self.name))
        return (Uplink(self.name), Downlink(self.name), *air)

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((Heard(self.name), ()), (ToldMotion(self.name), ()))

    def streams(self) -> tuple[str, ...]:
        names = (f"loss of {self.name}", f"latency of {self.name}")
        return names if self.bursts is None else (*names, f"bursts of {self.name}")

    def initial(self) -> RadioPathState:
        return RadioPathState((), ())

    def react(self, state: RadioPathState, now: float, seen: list[Any], out: Out) -> float:
        for frame in seen[0]:
            loss = self.loss
            if self.link is not None or self.bursts is not None:
                loss = self._loss(state, now, seen[2:], out)
            if loss > 0 and out.draw(LOSS, CHANCES) < loss * CHANCES:
                continue
            late = out.draw(SPREAD, self.latency_spread + 1) if self.latency_spread > 0 else 0
            state.up = launch(state.up, now + self.latency + late, frame)
        for told in seen[1]:
            state.down = launch(state.down, now + self.latency, told)
        while state.up and state.up[0][0] <= now:
            frame, state.up = state.up[0][1], state.up[1:]
            out.event(FrameArrived(self.name, frame.counter))
            out.put(0, frame)
        while state.down and state.down[0][0] <= now:
            told, state.down = state.down[0][1], state.down[1:]
            out.put(1, told)
        due = state.up[0][0] if state.up else FOREVER
        return min(due, state.down[0][0]) if state.down else due

    def _loss(self, s: RadioPathState, now: float, air: Sequence[Any], out: Out) -> float:
        """The chance that a frame sent now is lost, all causes together."""
        arrives = 1 - self.loss
        if self.link is not None:
            motion, taken = air
            arrives *= 1 - self.link.loss_at(at(motion, now)[0], now, taken)
        if self.bursts is not None:
            chance = self.bursts.chance_of_bad(s.bad, now - s.looked)
            s.bad, s.looked = out.draw(BURST, CHANCES) < chance * CHANCES, now
            arrives *= 1 - (self.bursts.loss_in_bad if s.bad else self.bursts.loss_in_good)
        return 1 - arrives


def parts(site: Site, bench: Bench) -> Iterable[Part]:
    """A path per transmitter."""
    for node in site.transmitters:
        link = None if node.radio is None else link_of(node.radio, travel_with(site, node.name))
        bursts = None if node.bursts is None else chain_of(node.bursts)
        yield RadioPath(node.name, node.latency, node.latency_spread, node.loss, link, bursts,
                        leaf_of_input(site, node.name).of)
        if link is not None:
            yield Given(MarginTaken(node.name), 0.0, node.name)
