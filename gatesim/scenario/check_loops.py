"""Whether the loops of a site agree with themselves: resistances, bands and codes, leads, and edges that share a loop.

Two traps of shared loops stay readable, as warnings, since a scenario shows them: in parallel, one broken branch reads
as one healthy edge does; in series, so does a press of one edge.
"""

from __future__ import annotations

from collections.abc import Mapping

from gatesim.plant.cable import TABLE, derived_wire
from gatesim.plant.edges.converter import code_of
from gatesim.plant.loop_tables import Joining, StripKind
from gatesim.plant.nets import OPEN_WIRE, at_rest, branch, contact_of, link_of, members, net_of, rest_ohm, side_by_side
from gatesim.plant.site import Edge, Site, Transmitter, WiredInput
from gatesim.scenario.complaints import Notes
from gatesim.scenario.shapes import offer
from gatesim.scenario.strict import TreePath
from gatesim.units import clip

Node = Transmitter | WiredInput

COARSEST = 0.05
"""Share of a loop's resistance at rest that one code may be: beyond it the converter is of no use there (ours)."""

ONE_FOR_ALL = ("band_low", "band_high", "open_above")
"""What edges on one loop have in common."""


def ohms(value: float) -> str:
    """A resistance for a message."""
    return f"{value:.6g} ohm"


def check_loop(site: Site, edge: Edge, inputs: Mapping[str, Node], path: TreePath, notes: Notes) -> None:
    """Complain of an edge's lead, of the way it is joined, and of the loop if it has one of its own."""
    _lead(edge, path, notes)
    if edge.joined_to is not None or edge.joining is not None:
        before = len(notes.made)
        _joined(site, edge, path, notes)
        if len(notes.made) == before:
            _sides(site, edge, path, notes)
        return
    if not _sound(site, edge):
        return
    on, at = members(site, edge.name), inputs.get(edge.input)
    if _order(edge, path, notes) and _bands(on, path, notes) and at is not None and at.pull_up > 0:
        _codes(on, at, path, notes)
        _traps(on, at, path, notes)


def _sound(site: Site, edge: Edge) -> bool:
    """Whether nothing is wrong with how others are joined to this edge."""
    tried = Notes()
    for other in members(site, edge.name)[1:]:
        _joined(site, other, (), tried)
    return not tried.made


def _lead(edge: Edge, path: TreePath, notes: Notes) -> None:
    lead, derives = edge.lead, edge.wire_resistance == 0 and edge.wire_length is not None
    if derives and edge.wire_gauge is not None and derived_wire(edge) is None:
        remedy = f"state wire_resistance, or one of AWG {', '.join(str(gauge) for gauge in TABLE)}"
        notes.error((*path, "wire_gauge"), f"no resistance is known of AWG {edge.wire_gauge}", remedy)
    if lead is None:
        return
    below = (*path, "lead")
    if lead.area is not None:
        notes.above_zero(lead, below, "area")
        if edge.wire_gauge is not None:
            notes.error((*below, "area"), f"the pair has AWG number {edge.wire_gauge} as well", "keep one of them")
        if edge.wire_length is None:
            notes.error((*below, "area"), "the pair has no length", "state wire_length")
    if lead.joints > 0 and lead.joint_resistance <= 0:
        notes.error((*below, "joints"), f"{lead.joints} joints have no resistance", "state joint_resistance")
    if lead.leakage is not None:
        notes.above_zero(lead, below, "leakage")
    if lead.leakage_length is not None:
        notes.above_zero(lead, below, "leakage_length")
        if lead.leakage is None:
            notes.error((*below, "leakage_length"), "there is no leakage that it belongs to", "state leakage")
        if not edge.wire_length:
            remedy = "state wire_length, or the leakage of the whole lead without leakage_length"
            notes.error((*below, "leakage_length"), "the lead has no length", remedy)


def _joined(site: Site, edge: Edge, path: TreePath, notes: Notes) -> None:
    """What keeps an edge from sharing a loop."""
    if edge.joined_to is None:
        notes.error((*path, "joining"), "the edge is joined to no other", "name that edge under joined_to")
        return
    others = {other.name: other for other in site.edges if other.name != edge.name}
    if edge.joined_to not in others:
        remedy = offer(edge.joined_to, others) or "there is no other edge"
        notes.error((*path, "joined_to"), f"no other edge is named {clip(edge.joined_to)}", remedy)
        return
    host = others[edge.joined_to]
    if host.joined_to is not None:
        remedy = f"join all of them to the same edge, {clip(host.joined_to)}"
        notes.error((*path, "joined_to"), f"{clip(host.name)} is joined to another edge itself", remedy)
        return
    if edge.joining is None:
        notes.error((*path, "joined_to"), "how it is joined is not said", "state joining")
    elif any(other.joining is not edge.joining for other in members(site, host.name)[1:]):
        notes.error((*path, "joining"), "the edges of one loop are joined in different ways", "choose one for all")
    if edge.input != host.input:
        remedy = f"one loop has one input: {clip(host.input)}, as {clip(host.name)}, or a loop of its own"
        notes.error((*path, "input"), f"the loop that it shares hangs on {clip(host.input)}", remedy)
    _alike(edge, host, path, notes)


def _alike(edge: Edge, host: Edge, path: TreePath, notes: Notes) -> None:
    for name in ONE_FOR_ALL:
        if getattr(edge, name) != getattr(host, name):
            remedy = f"one loop has one band: {ohms(getattr(host, name))}, as {clip(host.name)}"
            notes.error((*path, name), f"{name} is not that of the loop it shares", remedy)
    if edge.joining is Joining.ONE_LEAD and edge.termination != host.termination:
        remedy = f"one lead has one resistor, at the very end: {ohms(host.termination)}, as {clip(host.name)}"
        notes.error((*path, "termination"), "termination is not that of the loop it shares", remedy)
    if edge.strip is not host.strip:
        remedy = "give it a loop of its own"
        notes.error((*path, "strip"), "one strip of the loop opens when pressed, the other closes", remedy)
    elif edge.strip is StripKind.OPENS and edge.joining is not Joining.ONE_LEAD:
        remedy = "join them in one lead, with one resistor at the very end"
        message = "strips that open when pressed can't have resistors of their own in one loop"
        notes.error((*path, "joining"), message, remedy)


def _sides(site: Site, edge: Edge, path: TreePath, notes: Notes) -> None:
    ways = {zone.name: zone.direction for zone in site.zones}
    host = next(other for other in site.edges if other.name == edge.joined_to)
    if ways.get(edge.zone) is not ways.get(host.zone):
        remedy = "give each direction a loop of its own"
        message = f"it shares its loop with {clip(host.name)}, which guards the other direction: a press of either is "
        notes.warn((*path, "joined_to"), message + "a press of both, and the gate can't go back", remedy)


def _order(edge: Edge, path: TreePath, notes: Notes) -> bool:
    """Whether the thresholds stand in their order."""
    if edge.band_low >= edge.band_high:
        remedy = "the order is band_low < band_high < open_above"
        notes.error((*path, "band_low"), "the band is upside down: band_low is not below band_high", remedy)
    if not edge.band_high < edge.open_above:
        notes.error((*path, "open_above"), "open_above is not above band_high", "make it larger")
    return edge.band_low < edge.band_high < edge.open_above


def kind_of(on: tuple[Edge, ...]) -> str:
    """What a loop is called in a message: "the loop", or "the loop of 2 edges in parallel"."""
    joining = on[1].joining if len(on) > 1 else None
    return f"the loop of {len(on)} edges {_HOW[joining]}" if joining else "the loop"


_HOW = {Joining.ONE_LEAD: "on one lead", Joining.SERIES: "in series", Joining.PARALLEL: "in parallel"}


def hardest_press(on: tuple[Edge, ...]) -> float:
    """The press that is hardest to tell from rest (ohm) and must still be told: in series, that of all together, and
    else that of any edge alone."""
    net = net_of(on)
    if net.joining is Joining.SERIES:
        return net.reads([contact_of(edge, True) for edge in on])
    every = [net.reads([contact_of(edge, k == j) for j, edge in enumerate(on)]) for k in range(len(on))]
    return min(every) if net.opens else max(every)


def _bands(on: tuple[Edge, ...], path: TreePath, notes: Notes) -> bool:
    """Whether the loop is in its band at rest, and out of it when pressed."""
    edge, rest, pressed, before = on[0], rest_ohm(on), hardest_press(on), len(notes.made)
    what = kind_of(on)
    together = "termination and wire together" if len(on) == 1 else "this: the band is that of the number configured"
    if not edge.band_low < rest:
        notes.error((*path, "band_low"), f"at rest {what} has {ohms(rest)}, below the band",
                    f"set band_low below {together}")
    if not rest < edge.band_high:
        notes.error((*path, "band_high"), f"at rest {what} has {ohms(rest)}, above the band",
                    f"set band_high above {together}")
    if edge.strip is StripKind.OPENS:
        if not pressed > edge.band_high:
            remedy = "set band_high below this, or a press is never seen"
            notes.error((*path, "band_high"), f"pressed {what} has {ohms(pressed)}, not above the band", remedy)
    elif not pressed < edge.band_low:
        remedy = "set band_low above this, or a press is never seen"
        notes.error((*path, "band_low"), f"pressed {what} has {ohms(pressed)}, not below the band", remedy)
    return len(notes.made) == before


def _codes(on: tuple[Edge, ...], at: Node, path: TreePath, notes: Notes) -> None:
    """The thresholds must stay apart once the converter has rounded them."""
    edge, rest, pressed = on[0], rest_ohm(on), hardest_press(on)

    def code(ohm: float) -> int:
        return code_of(ohm, at.pull_up, at.converter_bits)

    marks = [("open_above", "band_high", edge.band_high, edge.open_above)]
    if edge.strip is StripKind.CLOSES:
        marks.insert(0, ("band_low", "a pressed loop", pressed, edge.band_low))
    else:
        marks.insert(0, ("band_high", "a pressed loop", edge.band_high, pressed))
    remedy = f"move them apart, or choose pull_up and converter_bits of {clip(at.name)} for this range"
    for name, other, low, high in marks:
        if code(low) >= code(high):
            notes.error((*path, name), f"{name} and {other} have the same code {code(high)}", remedy)
    if code(OPEN_WIRE) < code(edge.open_above):
        notes.error((*path, "open_above"), "an open wire stays below open_above", remedy)
    if not code(edge.band_low) <= code(rest) <= code(edge.band_high):
        notes.error((*path, "termination"), "at rest the loop's code lies outside the band", remedy)
    if code(edge.band_low) >= code(edge.band_high):
        notes.error((*path, "band_high"), "band_low and band_high have the same code", remedy)
    coarse = step_at(rest, at) / rest if rest > 0 else 0.0
    if coarse > COARSEST:
        message = f"at rest the loop has {ohms(rest)}, and one code is {coarse * 100:.0f} % of that: outside the "
        message += "converter's useful range"
        remedy = f"choose pull_up of {clip(at.name)} near it (it is {ohms(at.pull_up)}), or more converter_bits"
        notes.error((*path, "termination"), message, remedy)


def step_at(ohm: float, at: Node) -> float:
    """What one code is at this resistance (ohm): (R + P)^2 / (P (2^bits - 1)), the slope of the divider."""
    return (ohm + at.pull_up) ** 2 / (at.pull_up * ((1 << at.converter_bits) - 1))


def _traps(on: tuple[Edge, ...], at: Node, path: TreePath, notes: Notes) -> None:
    """What reads as one healthy edge although it is none."""
    edge, net = on[0], net_of(on)

    def inside(ohm: float) -> bool:
        low, this, high = (code_of(one, at.pull_up, at.converter_bits) for one in (edge.band_low, ohm, edge.band_high))
        return low <= this <= high

    for k, one in enumerate(on):
        name = clip(one.name)
        if net.joining is Joining.SERIES:
            ohm = net.reads([contact_of(other, j == k) for j, other in enumerate(on)])
            if inside(ohm):
                message = f"pressed alone, {name} leaves the loop at {ohms(ohm)}, inside the band: it reads as the "
                remedy = "set band_low above this: the band is that of the number configured"
                notes.warn((*path, "band_low"), message + "other edges would, and the press is never seen", remedy)
        elif net.joining is Joining.PARALLEL:
            ohm = side_by_side([branch(link_of(other), at_rest([other])[0]) for other in on if other is not one])
            if inside(ohm):
                message = f"with the wire of {name} broken the loop has {ohms(ohm)}, inside the band: it reads as the "
                remedy = "set band_high below this: the band is that of the number configured"
                notes.warn((*path, "band_high"), message + "other edges would, and the break is never seen", remedy)
