"""The contact strip of an edge: closed it is a resistance, else an open circuit.  A press closes it, or opens it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import Stimulus
from gatesim.plant.loop_tables import StripKind
from gatesim.plant.part import Bench, Out, Part, Phase, Wire, state
from gatesim.plant.site import Site
from gatesim.plant.wires import StripContact, StripPressed
from gatesim.units import FOREVER, Resistance


@state
class StripState:
    """Nothing changes in a strip but what it puts out."""


@dataclass(frozen=True, slots=True)
class Strip:
    """The strip of one edge: `contact_resistance` while closed, None while open."""

    edge: str
    contact_resistance: Resistance
    opens: bool = False
    """Whether a press opens it."""

    phase: ClassVar[Phase] = Phase.SENSE
    rank: ClassVar[int] = 30
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    @property
    def name(self) -> str:
        return self.edge

    def reads(self) -> tuple[Wire, ...]:
        return (StripPressed(self.edge),)

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((StripContact(self.edge), self.contact_resistance if self.opens else None),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> StripState:
        return StripState()

    def react(self, state: StripState, now: float, seen: list[Any], out: Out) -> float:
        out.put(0, self.contact_resistance if seen[0] is not self.opens else None)
        return FOREVER


def parts(site: Site, bench: Bench) -> Iterable[Part]:
    """A strip per edge."""
    return [Strip(edge.name, edge.contact_resistance, edge.strip is StripKind.OPENS) for edge in site.edges]
