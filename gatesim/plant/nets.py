"""What a loop reads: the resistances of one edge, or of several that share a loop, as one network.

A resistance of None stands for an open circuit, as in a strip that is not pressed together.  docs/timing.md, section 4,
has the formulas.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from gatesim.plant import cable
from gatesim.plant.loop_tables import Joining, StripKind
from gatesim.plant.site import Edge, Site

OPEN_WIRE = 1e9
"""What a broken wire reads (ohm)."""


def at_terminals(wire: float, termination: float, contact: float | None) -> float:
    """Loop resistance (ohm): the lead, and the termination with the strip's contact (None: open) beside it."""
    if contact is None:
        return wire + termination
    both = termination + contact
    return wire + (termination * contact / both if both > 0 else 0.0)


def beside(one: float | None, other: float | None) -> float | None:
    """Two resistances side by side (ohm; None: an open circuit)."""
    if one is None or other is None:
        return other if one is None else one
    both = one + other
    return one * other / both if both > 0 else 0.0


class Link(NamedTuple):
    """What one edge brings into a loop (ohm): its length of lead, its termination (None: off), the leakage across the
    pair."""

    edge: str
    lead: float
    termination: float | None
    leakage: float | None


class Net(NamedTuple):
    """A whole loop: its edges from the converter outwards, and how they are joined (None: a single edge)."""

    links: tuple[Link, ...]
    joining: Joining | None
    opens: bool
    """Whether the strips open when pressed."""

    def reads(self, contacts: Sequence[float | None]) -> float:
        """Loop resistance at the converter's terminals (ohm), with these strips' contacts in the links' order."""
        if self.joining is Joining.PARALLEL:
            return side_by_side([branch(link, contact) for link, contact in zip(self.links, contacts, strict=True)])
        if self.joining is Joining.SERIES:
            return in_line([branch(link, contact) for link, contact in zip(self.links, contacts, strict=True)])
        return self._one_lead(contacts)

    def broken(self, k: int, contacts: Sequence[float | None], near: bool) -> float:
        """The same with a wire of the k-th edge broken (ohm): at the near end of its length of lead, or at the far end,
        where the resistor is off and a wet lead still reads."""
        torn = self.links[k]._replace(termination=None)
        if self.joining is Joining.PARALLEL:
            branches = [branch(link, contact) for link, contact in zip(self.links, contacts, strict=True)]
            branches[k] = None if near else branch(torn, contacts[k])
            return side_by_side(branches)
        if near and (k == 0 or self.joining is Joining.SERIES):
            return OPEN_WIRE
        if self.joining is Joining.SERIES:
            return self._replace(links=(*self.links[:k], torn, *self.links[k + 1:])).reads(contacts)
        left = self.links[:k] if near else self.links[:k + 1]
        left = (*left[:-1], left[-1]._replace(termination=None))
        return self._replace(links=left).reads(contacts[:len(left)])

    def _one_lead(self, contacts: Sequence[float | None]) -> float:
        """One lead through every strip, from the resistor at the very end back to the terminals."""
        beyond = self.links[-1].termination
        for link, contact in zip(reversed(self.links), reversed(contacts), strict=True):
            if self.opens:
                beyond = None if beyond is None or contact is None else beyond + contact
                contact = None
            beyond = branch(link._replace(termination=beyond), contact)
        return OPEN_WIRE if beyond is None else beyond


def branch(link: Link, contact: float | None) -> float | None:
    """One edge with its lead and what stands beyond it as termination (ohm); None: open."""
    shunt = beside(contact, link.leakage)
    if link.termination is None:
        return None if shunt is None else link.lead + shunt
    return at_terminals(link.lead, link.termination, shunt)


def in_line(branches: Iterable[float | None]) -> float:
    """One after the other (ohm); one that is open opens all."""
    total = 0.0
    for one in branches:
        if one is None:
            return OPEN_WIRE
        total += one
    return total


def side_by_side(branches: Iterable[float | None]) -> float:
    """Branches side by side (ohm; None: a broken one); with none left the wire is open."""
    both: float | None = None
    for one in branches:
        both = beside(both, one)
    return OPEN_WIRE if both is None else both


def host_of(edge: Edge) -> str:
    """The edge under whose name a loop's channel goes: the one that the others are joined to."""
    return edge.joined_to or edge.name


def members(site: Site, host: str) -> tuple[Edge, ...]:
    """The edges of a loop, its host first, the others in the site's order, from the converter outwards."""
    first = [edge for edge in site.edges if edge.name == host]
    return (*first, *[edge for edge in site.edges if edge.joined_to == host and edge.name != host])


def hosts(site: Site) -> tuple[Edge, ...]:
    """The edges that have a loop of their own, one a loop."""
    return tuple([edge for edge in site.edges if edge.joined_to is None])


def link_of(edge: Edge) -> Link:
    """What an edge brings into its loop, at 20 degC and in the wet."""
    return Link(edge.name, cable.series(edge), edge.termination, cable.leakage(edge))


def net_of(edges: Sequence[Edge]) -> Net:
    """The loop of these edges, its host first."""
    joining = edges[1].joining if len(edges) > 1 else None
    return Net(tuple([link_of(edge) for edge in edges]), joining, edges[0].strip is StripKind.OPENS)


def at_rest(edges: Sequence[Edge]) -> tuple[float | None, ...]:
    """What the strips of these edges are at rest (ohm, None: open)."""
    return tuple([contact_of(edge, False) for edge in edges])


def contact_of(edge: Edge, pressed: bool) -> float | None:
    """What an edge's strip is (ohm, None: open)."""
    return edge.contact_resistance if pressed is not (edge.strip is StripKind.OPENS) else None


def rest_ohm(edges: Sequence[Edge]) -> float:
    """What a healthy loop of these edges reads at rest (ohm), the host first."""
    return net_of(edges).reads(at_rest(edges))
