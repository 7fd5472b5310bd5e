"""Overtravel against stopping distance, edge by edge: every term of what the gate still moves, named and summed.

The same terms as the requirement `overtravel-margin`, at the highest speed of a whole stroke on each stretch.
"""

from __future__ import annotations

from dataclasses import dataclass

from gatesim.events import Direction
from gatesim.field.budget import highest_speed
from gatesim.plant.leaves import as_leaf
from gatesim.plant.site import Site
from gatesim.requirements.reach import Reach, Stretch, reaches_of


@dataclass(frozen=True, slots=True)
class Term:
    """One part of the way after actuation: its delay (us; 0 for the braking itself) and the way in it (um)."""

    part: str
    us: int
    um: float
    how: str


@dataclass(frozen=True, slots=True)
class Overtravel:
    """One edge on one stretch of its zone, at the highest speed there (um/us), every tolerance at its worst (um)."""

    edge: str
    zone: str
    direction: Direction
    stretch: str
    speed: float
    terms: tuple[Term, ...]
    give: float
    """What the edge can still give after actuation."""
    until: str

    @property
    def moved(self) -> float:
        """What the gate still moves after actuation."""
        return sum(term.um for term in self.terms)

    @property
    def margin(self) -> float:
        return self.give - self.moved

    @property
    def is_exceeded(self) -> bool:
        return self.margin < 0


def overtravels(site: Site) -> tuple[Overtravel, ...]:
    """Each edge on each stretch of its zone, in the order of the site."""
    return tuple(_overtravel(site, reach, stretch) for reach in reaches_of(site) for stretch in reach.stretches)


def _overtravel(site: Site, reach: Reach, stretch: Stretch) -> Overtravel:
    site = as_leaf(site, reach.leaf)
    speed = highest_speed(site, reach.direction, stretch.low, stretch.high)
    terms = [Term(wait.part, wait.us, speed * wait.us, wait.how) for wait in reach.waits]
    terms.append(Term("stopping distance", 0, reach.braking(speed), reach.braked))
    return Overtravel(reach.edge, reach.zone, reach.direction, stretch.what, speed, tuple(terms), stretch.give,
                      stretch.until)
