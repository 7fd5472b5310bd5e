"""The fixing schedule of an edge's mounting channel: where its holes are drilled.

Source of the rule and of the sizes: common practice, no published source (first and last hole 1 in from the ends, the
rest not more than 11.5 in apart).  The site's own end distance and greatest pitch are used.
"""

from __future__ import annotations

from dataclasses import dataclass

from gatesim.errors import BadUsage
from gatesim.plant.site import Edge

SCREW = 0.216 * 25_400
"""Nominal diameter of a #12 screw (um): screw size chart (a secondary copy)."""

LEAST_SPACING = 3 * SCREW
"""Least distance of two screws, and of a screw from an end (um): 3 d, AISI 1996, E4.1 and E4.2."""

RETAINING_SCREW = 2 * 25_400.0
"""Retaining screw of the edge in its channel, from the bottom (um): common practice, no source."""

SAME_PITCH = 1e-9
"""Share of a pitch by which two spans may differ and count as equal (rounding of the division only)."""


@dataclass(frozen=True, slots=True)
class Fixing:
    """Holes of one channel, in um from its bottom (drain) end, rising."""

    edge: str
    length: float
    end_distance: float
    greatest_pitch: float
    holes: tuple[float, ...]
    pitch: float
    """Distance of neighbouring holes (um); 0 with one hole."""
    cautions: tuple[str, ...]


def holes(length: float, end_distance: float, greatest_pitch: float) -> tuple[float, ...]:
    """Hole positions (um) from one end: the two outer ones at the end distance, the rest equally spaced between.

    One hole in the middle where two would stand closer than 3 d.  Raises BadUsage for a length or pitch of zero.
    """
    if length <= 0 or greatest_pitch <= 0 or end_distance < 0:
        raise BadUsage(f"channel of {length} um, greatest pitch {greatest_pitch} um, end distance {end_distance} um: "
                       "length and pitch must be above zero, the end distance zero or more")
    span = length - 2 * end_distance
    if span < LEAST_SPACING:
        return (length / 2,)
    steps = span / greatest_pitch
    gaps = int(steps)
    if steps - gaps > SAME_PITCH * max(steps, 1.0):
        gaps += 1
    gaps = max(gaps, 1)
    # From both ends inwards, so that the schedule is the same measured from either end.
    half = [end_distance + span * k / gaps for k in range(gaps // 2 + 1)]
    other = [length - place for place in reversed(half)]
    return (*half, *(other if gaps % 2 else other[1:]))


def fixing_of(edge: Edge) -> Fixing:
    """The schedule of one edge, with what the technician must look out for."""
    places = holes(edge.length, edge.end_distance, edge.greatest_pitch)
    cautions = []
    if len(places) == 1:
        cautions.append("too short for two holes at the end distance: one hole in the middle will not keep the "
                        "channel from turning; use a longer channel, or a shorter end distance from the maker's "
                        "sheet")
    elif edge.end_distance < LEAST_SPACING:
        cautions.append("the outer holes are nearer to the ends than 3 screw diameters (0.648 in for #12; AISI "
                        "1996, E4.2)")
    if any(abs(place - RETAINING_SCREW) < LEAST_SPACING for place in places):
        cautions.append("a fixing hole is within 3 screw diameters of the edge's retaining screw (2 in from the "
                        "bottom): move the retaining screw")
    pitch = places[1] - places[0] if len(places) > 1 else 0.0
    return Fixing(edge.name, edge.length, edge.end_distance, edge.greatest_pitch, places, pitch, tuple(cautions))


GENERAL = (
    "Power off again, leaf secured, before anything is fixed to the leaf.",
    ("Channel hole 1/4 in; pilot hole for a #12 self-drilling screw 5/32 in: always the drill that suits the "
    "screw in hand."),
    "On a flat, even face: a bend can stop the edge from working.",
    "Wire end up, drain end down; one retaining screw 2 in from the bottom holds the edge in its channel.",
    ("Transmitter at least 1 m (3.28 ft) above ground, clear of rollers over the whole travel, within reach of the "
    "edge's own lead."),
    "Judge the radio path with the gate at the end of travel farthest from the receiver, clear line of sight.",
    "The two wires of a resistive edge have no polarity.",
)
"""Cautions of the fixing schedule.  All: common practice, no source."""
