"""The contact strip of an edge: pressed together it is a resistance, else an open circuit."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import Stimulus
from gatesim.plant.part import Bench, Out, Part, Phase, Wire, state
from gatesim.plant.site import Site
from gatesim.plant.wires import StripContact, StripPressed
from gatesim.units import FOREVER, Resistance


@state
class StripState:
    """Nothing changes in a strip but what it puts out."""


@dataclass(frozen=True, slots=True)
class Strip:
    """The strip of one edge: `contact_resistance` while pressed, None while open."""

    edge: str
    contact_resistance: Resistance

    phase: ClassVar[Phase] = Phase.SENSE
    rank: ClassVar[int] = 30
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    @property
    def name(self) -> str:
        return self.edge

    def reads(self) -> tuple[Wire, ...]:
        return (StripPressed(self.edge),)

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((StripContact(self.edge), None),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> StripState:
        return StripState()

    def react(self, state: StripState, now: float, seen: list[Any], out: Out) -> float:
        out.put(0, self.contact_resistance if seen[0] else None)
        return FOREVER


def parts(site: Site, bench: Bench) -> Iterable[Part]:
    """A strip per edge."""
    return [Strip(edge.name, edge.contact_resistance) for edge in site.edges]
