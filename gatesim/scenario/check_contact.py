"""Whether what a site says of contact can be: each edge's force-deflection curve, gear and measuring instrument."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import Protocol

from gatesim.plant.edge_curve import force_on, points_of
from gatesim.plant.site import Edge, Site, WithoutPower
from gatesim.scenario.strict import TreePath
from gatesim.units import Dimension, format_quantity

MOST_POINTS = 64
"""Of one curve."""
CLOSE = 0.01
"""Share of a force by which the curve may miss a stated point (ours): data sheets round."""
NEAR = 100.0
"""How far the curve may end from the end of the overtravel (um; ours)."""


class Notes(Protocol):
    """Where complaints go."""

    def error(self, path: TreePath, message: str, remedy: str) -> None:
        """Note what can't be simulated."""


def contact(site: Site, notes: Notes) -> None:
    """All complaints about contact."""
    for k, edge in enumerate(site.edges):
        path: TreePath = ("edges", k, "curve")
        if len(edge.curve) > MOST_POINTS:
            notes.error(path, f"the curve has {len(edge.curve)} points", f"at most {MOST_POINTS}")
        elif edge.curve and _rises(edge, path, notes):
            _agrees(edge, path, notes)
    if site.drive.self_locking and site.drive.without_power is WithoutPower.COASTING:
        remedy = "write without_power: held, or leave self_locking out"
        notes.error(("drive", "without_power"), "a self-locking gear does not let the leaf coast", remedy)
    if site.instrument_stiffness == 0:
        remedy = "leave it out where nothing stands between leaf and obstruction"
        notes.error(("instrument_stiffness",), "an instrument without stiffness measures nothing", remedy)


def _length(value: float) -> str:
    return format_quantity(value, Dimension.LENGTH)


def _force(value: float) -> str:
    return format_quantity(round(value), Dimension.FORCE)


def _rises(edge: Edge, path: TreePath, notes: Notes) -> bool:
    """Whether each point lies beyond the last and above it, the first beyond nothing."""
    given = [(point.deflection, point.force) for point in edge.curve]
    first = 1 if given[0] == (0.0, 0.0) else 0
    whole = True
    for k, ((d0, f0), (d1, f1)) in enumerate(pairwise([(0.0, 0.0), *given[first:]]), first):
        if d1 <= d0:
            remedy = "give the points in the order of pressing in, each deflection above the last"
            said = f"the curve goes back: {_length(d1)} comes after {_length(d0)}"
            notes.error((*path, k, "deflection"), said, remedy)
            whole = False
        if f1 <= f0:
            remedy = "each force must be above the last; of a flat or falling part keep only its highest point"
            notes.error((*path, k, "force"), f"the curve does not rise: {_force(f1)} comes after {_force(f0)}", remedy)
            whole = False
    return whole and len(given) > first


def _agrees(edge: Edge, path: TreePath, notes: Notes) -> None:
    """Whether the curve goes through the two points that the edge states apart from it."""
    points = points_of(replace(edge, stiffening=0.0))
    end, end_force = points[-1]
    there = force_on(points, edge.actuating_travel)
    if abs(there - edge.actuating_force) > CLOSE * edge.actuating_force:
        said = f"at actuating_travel the curve has {_force(there)}, not actuating_force"
        notes.error(path, said, f"{_force(edge.actuating_force)} is stated; correct the one that is wrong")
    if abs(end - edge.actuating_travel - edge.overtravel) > NEAR:
        said = f"the curve ends at {_length(end)}, not where the overtravel does"
        remedy = (f"actuating_travel and overtravel make {_length(edge.actuating_travel + edge.overtravel)}; let both "
                  "end at the last measured point")
        notes.error((*path, len(edge.curve) - 1, "deflection"), said, remedy)
    if abs(end_force - edge.full_force) > CLOSE * edge.full_force:
        said = f"the curve ends at {_force(end_force)}, not at full_force"
        remedy = f"{_force(edge.full_force)} is stated; correct the one that is wrong"
        notes.error((*path, len(edge.curve) - 1, "force"), said, remedy)
