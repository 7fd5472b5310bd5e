"""Force over deflection of an edge, as its data sheet or a bench test gives it, with age, cold and tolerance.

Deflection is the edge's own, from first touch (um), force is in mN.  Between the points the curve is straight; it
begins at (0, 0) and rises in both.  The end of the curve is the end of what the edge can give.
"""

from __future__ import annotations

from itertools import pairwise

from gatesim.plant.site import Edge

Points = tuple[tuple[float, float], ...]


def points_of(edge: Edge, tolerance: float = 0.0) -> Points:
    """The points from (0, 0) on, as stiff as the edge is now; `tolerance`: so much stiffer still (a share)."""
    if edge.curve:
        given = [(point.deflection, point.force) for point in edge.curve]
    else:
        given = [(edge.actuating_travel, edge.actuating_force),
                 (edge.actuating_travel + edge.overtravel, edge.full_force)]
    if given[0] != (0.0, 0.0):
        given.insert(0, (0.0, 0.0))
    factor = (1 + edge.stiffening) * (1 + tolerance)
    return tuple((deflection, force * factor) for deflection, force in given)


def force_on(points: Points, deflection: float) -> float:
    """The force at a deflection; beyond the curve that of its end."""
    for (d0, f0), (d1, f1) in pairwise(points):
        if deflection <= d1:
            return f0 + (f1 - f0) * (deflection - d0) / (d1 - d0)
    return points[-1][1]


def given_at(points: Points, force: float) -> float:
    """How far the edge has given way at a force; no farther than the curve goes."""
    for (d0, f0), (d1, f1) in pairwise(points):
        if force <= f1:
            return d0 + (d1 - d0) * (force - f0) / (f1 - f0) if f1 > f0 else d0
    return points[-1][0]
