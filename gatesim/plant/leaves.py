"""The leaves of a site: one, or two that one controller moves.

The first leaf's wires carry no name of a leaf, so that a site of one leaf has the wires it always had; those of the
second carry "second".  What the controller is told about both together carries "both".
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from gatesim.events import Direction, LeafName
from gatesim.plant.part import Out
from gatesim.plant.site import Beam, Drive, Gate, Site, Zone

BOTH = "both"
"""The `of` of a wire that tells of both leaves together."""


def named(of: str, what: str = "") -> str:
    """The `of` of a wire of a leaf (or of both): "second", "second opening", "opening"."""
    return f"{of} {what}".strip()


@dataclass(frozen=True, slots=True)
class LeafTable:
    """One leaf with its own tables, and `order`: the `of` of the drive order that moves it."""

    leaf: LeafName
    gate: Gate
    drive: Drive
    leaf_at: float
    order: str

    @property
    def of(self) -> str:
        """What its wires are named by."""
        return self.leaf.of


def leaves(site: Site) -> tuple[LeafTable, ...]:
    """The leaves of a site, the first one first."""
    second = site.second_leaf
    if second is None:
        return (LeafTable(LeafName.FIRST, site.gate, site.drive, site.leaf_at, ""),)
    return (
        LeafTable(LeafName.FIRST, site.gate, site.drive, site.leaf_at, LeafName.FIRST.value),
        LeafTable(LeafName.SECOND, second.gate or site.gate, second.drive or site.drive, second.leaf_at,
                  LeafName.SECOND.value))


def as_leaf(site: Site, leaf: LeafName) -> Site:
    """The site with the gate and drive of this leaf where those of the first stand."""
    if leaf is LeafName.FIRST or site.second_leaf is None:
        return site
    mine = leaves(site)[1]
    return replace(site, gate=mine.gate, drive=mine.drive, leaf_at=mine.leaf_at)


def delay_of(site: Site, leaf: LeafName, way: Direction) -> int:
    """How long at most a leaf waits for the other before it moves this way (us)."""
    second = site.second_leaf
    if second is None or (leaf is second.opens_first) is (way is Direction.OPENING):
        return 0
    return second.opening_delay if way is Direction.OPENING else second.closing_delay


def of_operator(site: Site) -> str:
    """The `of` of the wires that tell the controller of its leaf, or of both."""
    return "" if site.second_leaf is None else BOTH


def zones_of(site: Site, leaf: LeafName) -> tuple[Zone, ...]:
    """The zones of a leaf."""
    return tuple(zone for zone in site.zones if zone.leaf is leaf)


def leaf_of_edge(site: Site, edge: str) -> LeafName:
    """The leaf that an edge belongs to, by its zone."""
    zones = {zone.name: zone.leaf for zone in site.zones}
    return next((zones[one.zone] for one in site.edges if one.name == edge and one.zone in zones), LeafName.FIRST)


def leaf_of_input(site: Site, device: str) -> LeafName:
    """The leaf that a transmitter moves with, by its edges."""
    return next((leaf_of_edge(site, one.name) for one in site.edges if one.input == device), LeafName.FIRST)


def leaves_of_beam(site: Site, beam: Beam) -> tuple[LeafName, ...]:
    """The leaves that a beam guards, by its zones: one, or both."""
    found = {zone.leaf for zone in site.zones if zone.name in beam.zones}
    return tuple(leaf for leaf in LeafName if leaf in found)


def of_one(found: tuple[LeafName, ...]) -> LeafName | None:
    """The only leaf of these; None where there are two."""
    return found[0] if len(found) == 1 else None


class _Tagged:
    """A part's outlet whose events name the leaf."""

    __slots__ = ("leaf", "out", "stimuli")

    def __init__(self, out: Out, leaf: LeafName) -> None:
        self.out, self.leaf, self.stimuli = out, leaf, out.stimuli

    def put(self, k: int, value: Any) -> None:
        self.out.put(k, value)

    def event(self, event: Any) -> None:
        self.out.event(event._replace(leaf=self.leaf))

    def draw(self, stream: int, below: int) -> int:
        return self.out.draw(stream, below)


def telling(out: Out, leaf: LeafName) -> Out:
    """The outlet by which a part of this leaf records its events."""
    return out if leaf is LeafName.FIRST else _Tagged(out, leaf)
