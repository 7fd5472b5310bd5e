"""The converter of a transmitter or wired input: a channel per loop, and its reference channel."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from gatesim.events import LoopChanged, Stimulus
from gatesim.plant.given import Given
from gatesim.plant.nets import hosts, members, rest_ohm
from gatesim.plant.part import Bench, Out, Part, Phase, Wire, state
from gatesim.plant.site import Site, Transmitter, WiredInput
from gatesim.plant.wires import Code, Loop, ReferenceCode
from gatesim.units import FOREVER, Resistance

OUT_OF_RANGE = 1e15
"""Above it (ohm) the converter reads its supply: infinity divided by infinity is no ratio."""


def code_of(ohm: float, pull_up: float, bits: int) -> int:
    """Converter code of a loop: floor((2^bits - 1) R / (R + pull_up) + 0.5) (docs/timing.md, section 4).

    The supply is the converter's own reference, so it cancels.  What is no resistance (negative, no number) reads 0.
    """
    full = (1 << bits) - 1
    if ohm > OUT_OF_RANGE:
        return full
    if not ohm >= 0 or ohm + pull_up <= 0:
        return 0
    return int((full * ohm / (ohm + pull_up) + 0.5) // 1)


@state
class ChannelState:
    """The resistance last seen (ohm)."""

    ohm: float


@dataclass(frozen=True, slots=True)
class Channel:
    """The converter's channel of one loop; it also says what stands at its terminals."""

    edge: str
    pull_up: Resistance
    converter_bits: int
    rest: Resistance
    """What the loop reads at rest."""

    phase: ClassVar[Phase] = Phase.SENSE
    rank: ClassVar[int] = 32
    takes: ClassVar[tuple[type[Stimulus], ...]] = ()

    @property
    def name(self) -> str:
        return self.edge

    def reads(self) -> tuple[Wire, ...]:
        return (Loop(self.edge),)

    def writes(self) -> tuple[tuple[Wire, object], ...]:
        return ((Code(self.edge), code_of(self.rest, self.pull_up, self.converter_bits)),)

    def streams(self) -> tuple[str, ...]:
        return ()

    def initial(self) -> ChannelState:
        return ChannelState(self.rest)

    def react(self, state: ChannelState, now: float, seen: list[Any], out: Out) -> float:
        ohm = seen[0]
        if ohm != state.ohm:
            state.ohm = ohm
            out.event(LoopChanged(self.edge, ohm))
        out.put(0, code_of(ohm, self.pull_up, self.converter_bits))
        return FOREVER


def parts(site: Site, bench: Bench) -> Iterable[Part]:
    """A channel per loop that hangs on a node of the site, and a reference channel per node."""
    nodes: tuple[Transmitter | WiredInput, ...] = (*site.transmitters, *site.wired_inputs)
    for node in nodes:
        for edge in hosts(site):
            if edge.input == node.name:
                yield Channel(edge.name, node.pull_up, node.converter_bits, rest_ohm(members(site, edge.name)))
        own = code_of(node.pull_up, node.pull_up, node.converter_bits)
        yield Given(ReferenceCode(node.name), own, node.name)
