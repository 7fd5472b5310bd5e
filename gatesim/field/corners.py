"""The two corners of a loop: what it reads in each state where every part is at its lowest, and at its highest.

Every loop is a network of resistances between two terminals.  Its resistance never falls when one of its parts rises
(Rayleigh's monotonicity law), and the divider's ratio rises with it and falls with the pull-up.  So the two ends of a
spread stand at the corner where every part is at its lowest and the pull-up at its highest, and at the opposite one: no
other corner can lie outside.  The converter's error, noise and hum come on top.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from enum import Enum
from typing import NamedTuple

from gatesim.plant.cable import copper_at, derived_wire, joints, leakage, wire
from gatesim.plant.loop_tables import ConverterSpread, Joining, LoopSpread
from gatesim.plant.nets import OPEN_WIRE, Link, net_of
from gatesim.plant.site import Edge, Transmitter, WiredInput

Node = Transmitter | WiredInput

STATED_AT = 20.0
"""Temperature (degC) at which resistors have the value that they are sold by (ours)."""


class Shown(Enum):
    """What a loop may be like."""

    SHORT = "short"
    PRESSED = "pressed"
    WEAK = "weak contact"
    LEAKING = "leaking"
    AT_REST = "at rest"
    BROKEN = "one branch broken"
    OPEN = "open"


class Region(Enum):
    """Where a code lies against the thresholds, from the lowest up."""

    BELOW = "below the band"
    IN_BAND = "in the band"
    ABOVE = "above the band"
    OPEN = "open"


OUTSIDE = (Region.ABOVE, Region.OPEN)


class Span(NamedTuple):
    """From the lowest to the highest."""

    low: float
    high: float


# --- the two corners ----------------------------------------------------------------------------------------------


class Corner(NamedTuple):
    """Every part of a loop at one end: its links, the contacts of a good and of an aged strip, the pull-up."""

    links: tuple[Link, ...]
    contact: float
    pull_up: float


def farthest(coldest: float, warmest: float) -> float:
    """The farthest that the temperature goes from that of the stated values (K)."""
    return max(abs(coldest - STATED_AT), abs(warmest - STATED_AT))


def _off(tolerance: float, tempco: float, kelvin: float) -> Span:
    """A resistor's share of its stated value, at its lowest and highest."""
    drift = tempco * kelvin
    return Span(max(0.0, (1 - tolerance) * (1 - drift)), (1 + tolerance) * (1 + drift))


def lead_span(edge: Edge, coldest: float, warmest: float) -> Span:
    """An edge's lead (ohm): wires as stated or by gauge, whichever is farther, cold and warm; joints new and aged."""
    known = [one for one in (wire(edge), derived_wire(edge)) if one is not None]
    factors = (copper_at(coldest), copper_at(warmest))
    return Span(min(known) * min(factors), max(known) * max(factors) + joints(edge))


def corners(on: Sequence[Edge], node: Node, coldest: float, warmest: float) -> tuple[Corner, Corner]:
    """The lowest and the highest corner of a loop: wet and dry, cold and warm, each part off the same way."""
    converter, kelvin = node.spread or ConverterSpread(), farthest(coldest, warmest)
    pull_up = _off(converter.pull_up_tolerance, converter.pull_up_tempco, kelvin)
    low, high = [], []
    for edge in on:
        own = edge.spread or LoopSpread()
        resistor = _off(own.termination_tolerance, own.termination_tempco, kelvin)
        lead = lead_span(edge, coldest, warmest)
        low.append(Link(edge.name, lead.low, edge.termination * resistor.low, leakage(edge)))
        high.append(Link(edge.name, lead.high, edge.termination * resistor.high, None))
    contact = max(edge.contact_resistance for edge in on)
    lowest = Corner(tuple(low), 0.0, node.pull_up * pull_up.high)
    return lowest, Corner(tuple(high), contact, node.pull_up * pull_up.low)


# --- the states ---------------------------------------------------------------------------------------------------


class LoopCorners:
    """A loop with its two corners: ohms of each state."""

    def __init__(self, on: Sequence[Edge], node: Node, coldest: float, warmest: float) -> None:
        self.on, self.node = tuple(on), node
        self.net = net_of(on)
        self.low, self.high = corners(on, node, coldest, warmest)
        own = [edge.spread or LoopSpread() for edge in on]
        self.aged = max(one.aged_contact for one in own)
        self.fault_leakage = max(one.fault_leakage for one in own)

    def reads(self, links: Sequence[Link], contacts: Sequence[float | None]) -> float:
        """The loop with these parts (ohm)."""
        return self.net._replace(links=tuple(links)).reads(contacts)

    def _closed(self, corner: Corner) -> list[float | None]:
        return [corner.contact if self.net.opens else None for _ in corner.links]

    def at_rest(self, corner: Corner, more: float = 0.0) -> float:
        """Untouched, with so much more in the lead (ohm)."""
        return self.reads(corner.links, self._closed(corner)) + more

    def pressed(self, corner: Corner, contact: float) -> Iterator[float]:
        """Each edge alone, with this contact."""
        for k in range(len(corner.links)):
            contacts = self._closed(corner)
            contacts[k] = None if self.net.opens else contact
            yield self.reads(corner.links, contacts)

    def all_pressed(self, corner: Corner, contact: float) -> float:
        """All edges together."""
        return self.reads(corner.links, [None if self.net.opens else contact for _ in corner.links])

    def leaking(self, corner: Corner, leak: float) -> Iterator[float]:
        """A leakage across each strip alone, nothing pressed."""
        for k, link in enumerate(corner.links):
            links = list(corner.links)
            links[k] = link._replace(leakage=leak if link.leakage is None else min(leak, link.leakage))
            yield self.reads(links, self._closed(corner))

    def broken(self, corner: Corner) -> Iterator[float]:
        """A wire broken at the far end of each length of lead: what a wet lead still reads.  Nearer, it reads no less.
        Side by side, one broken branch leaves the others."""
        net = self.net._replace(links=corner.links)
        for k in range(len(corner.links)):
            yield net.broken(k, self._closed(corner), near=False)

    def short_end(self) -> float:
        """The farthest short along the lead (ohm)."""
        leads = [link.lead for link in self.high.links]
        return sum(leads) if self.net.joining in (None, Joining.ONE_LEAD) else max(leads)

    def spans(self) -> Iterator[tuple[Shown, Span, tuple[Region, ...]]]:
        """Each state with its ohms and where it has to lie."""
        low, high, below = self.low, self.high, (Region.BELOW,)
        yield Shown.SHORT, Span(0.0, self.short_end()), below
        if self.net.opens:
            yield Shown.PRESSED, Span(min(self.pressed(low, 0.0)), OPEN_WIRE), OUTSIDE
        else:
            yield Shown.PRESSED, Span(self.all_pressed(low, 0.0), max(self.pressed(high, high.contact))), below
            aged = max(self.aged, high.contact)
            yield Shown.WEAK, Span(self.all_pressed(low, high.contact), max(self.pressed(high, aged))), below
        leak = self.fault_leakage
        yield Shown.LEAKING, Span(min(self.leaking(low, 0.0)), max(self.leaking(high, leak))), below
        yield Shown.AT_REST, Span(self.at_rest(low), self.at_rest(high)), (Region.IN_BAND,)
        if self.net.joining is Joining.PARALLEL:
            yield Shown.BROKEN, Span(min(self.broken(low)), max(self.broken(high))), OUTSIDE
            yield Shown.OPEN, Span(OPEN_WIRE, OPEN_WIRE), OUTSIDE
        else:
            yield Shown.OPEN, Span(min(self.broken(low)), OPEN_WIRE), OUTSIDE


# --- from ohms to codes -------------------------------------------------------------------------------------------


class Reading:
    """What divider and converter of a node make of a span of ohms."""

    def __init__(self, loop: LoopCorners) -> None:
        node = loop.node
        spread = node.spread or ConverterSpread()
        self.full = (1 << node.converter_bits) - 1
        self.pull_up = Span(loop.high.pull_up, loop.low.pull_up)
        self.reference = spread.reference
        self.error = spread.converter_error
        self.swing = (spread.noise + spread.hum) / spread.reference

    def ratio(self, ohm: Span) -> Span:
        """The divider's share of its supply, noise and hum in it."""
        low = ohm.low / (ohm.low + self.pull_up.high) - self.swing
        high = ohm.high / (ohm.high + self.pull_up.low) + self.swing
        return Span(max(0.0, low), min(1.0, high))

    def code(self, ohm: Span) -> Span:
        """The lowest and highest code."""
        ratio = self.ratio(ohm)
        low, high = (int((self.full * one + 0.5) // 1) for one in ratio)
        return Span(max(0, low - self.error), min(self.full, high + self.error))
