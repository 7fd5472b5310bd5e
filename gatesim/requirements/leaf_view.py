"""A gate of two leaves as each of them lives through it: which leaf's events a monitor is given.

A monitor judges one leaf.  On a site of two leaves it has a state for each of them; what happened on the other leaf
reaches it as `Elsewhere`, which only those look into whom it concerns.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from gatesim import events as e
from gatesim.events import Event, LeafName, Side
from gatesim.plant.leaves import LeafTable, leaves
from gatesim.plant.site import Site

Ends = tuple[Side | None, Side | None]
"""At which end this leaf is, and the other one."""


class Elsewhere(NamedTuple):
    """What happened on the other leaf."""

    event: Event


def anywhere(event: Event) -> Event:
    """What happened, on whichever leaf."""
    return event.event if isinstance(event, Elsewhere) else event


def of_a_leaf(kind: type) -> bool:
    """Whether events of a kind belong to one leaf."""
    return "leaf" in getattr(kind, "_fields", ())


def seen_from(leaf: LeafName, event: Any) -> Event:
    """An event as this leaf's monitors are given it."""
    whose = getattr(event, "leaf", leaf)
    return event if whose is leaf else Elsewhere(event)


def ends_at_start(site: Site, leaf: LeafName) -> Ends | None:
    """Where the leaves stand at the start of a run; None for a site of one leaf."""
    if site.second_leaf is None:
        return None
    first, second = leaves(site)
    mine, other = (first, second) if leaf is LeafName.FIRST else (second, first)
    return _end(mine), _end(other)


def _end(one: LeafTable) -> Side | None:
    if one.leaf_at <= one.drive.limit_lead:
        return Side.CLOSED
    return Side.OPEN if one.leaf_at >= one.gate.travel - one.drive.limit_lead else None


def reaches_end(ends: Ends | None, event: Event) -> bool:
    """Whether the gate is wholly at an end with this limit switch of a leaf."""
    inside = anywhere(event)
    if not isinstance(inside, e.LimitReached):
        return False
    return ends is None or ends[0 if isinstance(event, Elsewhere) else 1] is inside.side
