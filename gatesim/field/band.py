"""Band design: how far the readings of a loop may spread in each of its states, and whether the thresholds part them.

`design(site)` is a pure function of what corners.py says of each loop.  Outside the band everything is a demand or a
fault; there is no third.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Any

from gatesim.field.corners import OUTSIDE, LoopCorners, Node, Reading, Region, Shown, Span
from gatesim.plant.cable import leakage
from gatesim.plant.edges.converter import code_of
from gatesim.plant.loop_tables import Joining
from gatesim.plant.nets import OPEN_WIRE, hosts, members
from gatesim.plant.site import Edge, Site

FORMAT = "gatesim-band/1"

WARMEST = 60.0
"""Where a site does not say how warm it gets (degC, ours)."""

REGIONS = tuple(Region)

CAUTIONS = (
    ("Calculated from the site file and from the tolerances named here. It is no measurement: measure each loop at "
    "rest and pressed, cold and wet, and write the readings down."),
    ("A resistor at the wrong end of the lead, swapped leads, a strip frozen stiff and an edge torn loose read as at "
    "rest: only a press of each edge shows them."),
    "Local codes, the authority having jurisdiction and licensed practice come first.",
)


@dataclass(frozen=True, slots=True)
class Spread:
    """What a loop reads in one of its states: ohm at the terminals, mV at the converter, its code."""

    shown: Shown
    ohm: Span
    millivolt: Span
    code: Span
    may_be: tuple[Region, ...]
    """Where it has to lie."""
    lies: tuple[Region, ...]
    """Where it can lie."""
    margin: int
    """Codes to the nearest threshold that it must not reach; 0 or less: it reaches it."""

    @property
    def overlaps(self) -> bool:
        """Whether it reaches where it may not."""
        return any(region not in self.may_be for region in self.lies)


@dataclass(frozen=True, slots=True)
class Bounds:
    """What surely leaves the band, whatever the parts are off (ohm); None: nothing does."""

    leakage: float | None
    """The weakest leakage across a strip, and all that is worse."""
    contact: float | None
    """The highest resistance of a pressed contact, and all below it; None where a press opens."""
    added: float | None
    """The least resistance added in the lead, and all above it."""


@dataclass(frozen=True, slots=True)
class LoopBand:
    """One loop: thresholds (code), the spread of each state, and what follows from them."""

    edges: tuple[str, ...]
    joining: Joining | None
    opens: bool
    device: str
    bits: int
    pull_up: float
    band_low: int
    band_high: int
    open_above: int
    spreads: tuple[Spread, ...]
    bounds: Bounds
    narrowest: Span | None
    """The narrowest band that holds the loop at rest and a code beside it on each side (ohm); None: there is no room
    for it."""
    assumed: tuple[str, ...]
    overlaps: tuple[str, ...]
    """In words: what reaches over a threshold."""

    @property
    def full(self) -> int:
        """The highest code."""
        return (1 << self.bits) - 1


@dataclass(frozen=True, slots=True)
class BandDesign:
    """The bands of a whole site."""

    site: str
    coldest: float
    warmest: float
    cautions: tuple[str, ...]
    loops: tuple[LoopBand, ...]
    remarks: tuple[str, ...]

    @property
    def overlaps(self) -> tuple[str, ...]:
        """Every overlap, with its loop."""
        return tuple(f"loop of {' and '.join(loop.edges)}: {said}" for loop in self.loops for said in loop.overlaps)


def region(code: float, low: int, high: int, open_above: int) -> Region:
    """Where a code lies against the thresholds."""
    if code < low:
        return Region.BELOW
    if code <= high:
        return Region.IN_BAND
    return Region.OPEN if code >= open_above else Region.ABOVE


def _margin(code: Span, may_be: tuple[Region, ...], low: int, high: int) -> int:
    """Codes that are left before the state reads as another."""
    if may_be == (Region.BELOW,):
        return int(low - code.high)
    if may_be == (Region.IN_BAND,):
        return int(min(code.low - low, high - code.high)) + 1
    return int(code.low - high)


def _most(holds: Callable[[float], bool], low: float, high: float) -> float | None:
    """The highest value for which `holds`, which holds up to some value and no further; None: not even `low`."""
    if not holds(low):
        return None
    if holds(high):
        return high
    for _ in range(200):
        middle = (low + high) / 2
        if not low < middle < high:
            break
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low


# --- the design ---------------------------------------------------------------------------------------------------


def design(site: Site) -> BandDesign:
    """The bands of a site's loops; a loop on an input that the site does not have is only remarked on."""
    warmest = WARMEST if site.warmest is None else site.warmest
    warmest = max(warmest, site.coldest)
    nodes: dict[str, Node] = {node.name: node for node in site.transmitters}
    nodes |= {node.name: node for node in site.wired_inputs}
    loops, remarks = [], []
    if site.warmest is None:
        remarks.append(f"warmest is not stated: {warmest:g} degC assumed (ours)")
    for host in hosts(site):
        if host.input in nodes:
            loops.append(loop_band(members(site, host.name), nodes[host.input], site.coldest, warmest))
        else:
            remarks.append(f"edge {host.name} hangs on {host.input}, which the site does not have")
    return BandDesign(site.name, site.coldest, warmest, CAUTIONS, tuple(loops), tuple(remarks))


def loop_band(on: Sequence[Edge], node: Node, coldest: float, warmest: float) -> LoopBand:
    """The band of one loop; its host comes first."""
    loop = LoopCorners(on, node, coldest, warmest)
    reading, host = Reading(loop), on[0]
    low, high, opened = (code_of(ohm, node.pull_up, node.converter_bits)
                         for ohm in (host.band_low, host.band_high, host.open_above))
    spreads = []
    for shown, ohm, may_be in loop.spans():
        code, ratio = reading.code(ohm), reading.ratio(ohm)
        first, last = (REGIONS.index(region(one, low, high, opened)) for one in code)
        spreads.append(Spread(shown, ohm, Span(*(one * reading.reference for one in ratio)), code, may_be,
                              REGIONS[first:last + 1], _margin(code, may_be, low, high)))
    rest = next(one for one in spreads if one.shown is Shown.AT_REST)
    return LoopBand(
        tuple(edge.name for edge in on), loop.net.joining, loop.net.opens, node.name, node.converter_bits, node.pull_up,
        low, high, opened, tuple(spreads), _bounds(loop, reading, low, high), _narrowest(rest, spreads, node),
        tuple(_assumed(on, node)), tuple(_overlaps(spreads)))


def _bounds(loop: LoopCorners, reading: Reading, low: int, high: int) -> Bounds:
    """By halving: each reading moves one way only with the leakage, the contact and what is added."""
    def below(ohm: float) -> bool:
        return reading.code(Span(0.0, ohm)).high < low

    leak = _most(lambda leak: below(max(loop.leaking(loop.high, leak))), 0.0, OPEN_WIRE)
    contact = None if loop.net.opens else _most(lambda ohm: below(max(loop.pressed(loop.high, ohm))), 0.0, OPEN_WIRE)
    inside = _most(
        lambda more: reading.code(Span(loop.at_rest(loop.low, more), OPEN_WIRE)).low <= high, 0.0, OPEN_WIRE)
    return Bounds(leak, contact, 0.0 if inside is None else None if inside >= OPEN_WIRE else inside)


def _narrowest(rest: Spread, spreads: Sequence[Spread], node: Node) -> Span | None:
    full = (1 << node.converter_bits) - 1
    low, high = rest.code.low - 1, rest.code.high + 1
    under = max(one.code.high for one in spreads if one.may_be == (Region.BELOW,))
    over = min(one.code.low for one in spreads if one.may_be == OUTSIDE)
    if not (low > 0 and under < low and high < over and high < full):
        return None
    return Span(*(node.pull_up * code / (full - code) for code in (low, high)))


def _assumed(on: Sequence[Edge], node: Node) -> Iterator[str]:
    for edge in on:
        if edge.spread is None:
            yield f"{edge.name} states no spread: the defaults hold"
    if node.spread is None:
        yield f"{node.name} states no spread: the defaults hold"
    if all(leakage(edge) is None for edge in on):
        yield "no leakage of a wet lead is stated"


def _overlaps(spreads: Sequence[Spread]) -> Iterator[str]:
    for one in spreads:
        for lies in one.lies:
            if lies not in one.may_be:
                yield (f"{one.shown.value}, code {one.code.low:.0f} to {one.code.high:.0f}, can read {lies.value}; it "
                       f"has to be {' or '.join(region.value for region in one.may_be)}")


def as_json(made: BandDesign) -> dict[str, Any]:
    """The design as plain values for `json.dumps`: ohm, mV, codes, degC."""
    return {"format": FORMAT, **_plain(made), "overlaps": list(made.overlaps)}


def _plain(value: Any) -> Any:
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Span):
        return value._asdict()
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: _plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    return value
