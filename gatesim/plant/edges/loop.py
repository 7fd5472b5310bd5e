"""The loop of one edge, or of several that share it: lead, strips, termination (docs/timing.md, section 4)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import Stimulus
from gatesim.plant.loop_tables import Joining
from gatesim.plant.nets import Link, Net, branch, hosts, members, net_of, rest_ohm, side_by_side
from gatesim.plant.part import Bench, Out, Part, Phase, Wire, state
from gatesim.plant.site import Site
from gatesim.plant.wires import Branch, Loop, StripContact
from gatesim.units import FOREVER, Resistance


@state
class LoopState:
    """Nothing changes in a loop but what it puts out."""


@dataclass(frozen=True, slots=True)
class EdgeLoop:
    """The loop of one edge, or of those that are joined to it."""

    edge: str
    net: Net
    rest: Resistance

    phase: ClassVar[Phase] = Phase.SENSE
    rank: ClassVar[int] = 31
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    @property
    def name(self) -> str:
        return self.edge

    def reads(self) -> tuple[Wire, ...]:
        kind: type[Wire] = Branch if self.net.joining is Joining.PARALLEL else StripContact
        return tuple([kind(link.edge) for link in self.net.links])

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((Loop(self.edge), self.rest),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> LoopState:
        return LoopState()

    def react(self, state: LoopState, now: float, seen: list[Any], out: Out) -> float:
        out.put(0, side_by_side(seen) if self.net.joining is Joining.PARALLEL else self.net.reads(seen))
        return FOREVER


@dataclass(frozen=True, slots=True)
class EdgeBranch:
    """One of several edges side by side: its strip, resistor and length of lead."""

    link: Link
    rest: Resistance | None

    phase: ClassVar[Phase] = Phase.SENSE
    rank: ClassVar[int] = 31
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    @property
    def name(self) -> str:
        return self.link.edge

    def reads(self) -> tuple[Wire, ...]:
        return (StripContact(self.link.edge),)

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((Branch(self.link.edge), self.rest),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> LoopState:
        return LoopState()

    def react(self, state: LoopState, now: float, seen: list[Any], out: Out) -> float:
        out.put(0, branch(self.link, seen[0]))
        return FOREVER


def parts(site: Site, bench: Bench) -> Iterable[Part]:
    """A loop for each edge that is joined to none, and a branch for each of those side by side."""
    made: list[Part] = []
    for host in hosts(site):
        edges = members(site, host.name)
        net = net_of(edges)
        if net.joining is Joining.PARALLEL:
            made += [EdgeBranch(link, branch(link, None)) for link in net.links]
        made.append(EdgeLoop(host.name, net, rest_ohm(edges)))
    return made
