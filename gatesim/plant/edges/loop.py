"""The loop of an edge: lead, strip and termination resistor (docs/timing.md, section 4)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import Stimulus
from gatesim.plant.part import Bench, Out, Part, Phase, Wire, state
from gatesim.plant.site import Edge, Site
from gatesim.plant.wires import Loop, StripContact
from gatesim.units import FOREVER, Resistance

OPEN_WIRE = 1e9
"""What a broken wire reads (ohm)."""


def at_terminals(wire: float, termination: float, contact: float | None) -> float:
    """Loop resistance (ohm): the lead, and the termination with the strip's contact (None: open) beside it."""
    if contact is None:
        return wire + termination
    both = termination + contact
    return wire + (termination * contact / both if both > 0 else 0.0)


@state
class LoopState:
    """Nothing changes in a loop but what it puts out."""


@dataclass(frozen=True, slots=True)
class EdgeLoop:
    """The loop of one edge."""

    edge: str
    wire_resistance: Resistance
    termination: Resistance

    phase: ClassVar[Phase] = Phase.SENSE
    rank: ClassVar[int] = 31
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    @property
    def name(self) -> str:
        return self.edge

    def reads(self) -> tuple[Wire, ...]:
        return (StripContact(self.edge),)

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((Loop(self.edge), at_terminals(self.wire_resistance, self.termination, None)),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> LoopState:
        return LoopState()

    def react(self, state: LoopState, now: float, seen: list[Any], out: Out) -> float:
        out.put(0, at_terminals(self.wire_resistance, self.termination, seen[0]))
        return FOREVER


def rest_ohm(edge: Edge) -> float:
    """What a healthy loop reads at rest (ohm)."""
    return at_terminals(edge.wire_resistance, edge.termination, None)


def parts(site: Site, bench: Bench) -> Iterable[Part]:
    """A loop per edge."""
    return [EdgeLoop(edge.name, edge.wire_resistance, edge.termination) for edge in site.edges]
