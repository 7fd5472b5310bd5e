"""Presence beams in the plan: whether one stands far enough from the leaf to keep a person from being hit; its rows.

A beam beside the leaf protects from being hit only where S = K T + C is met (ISO 13855:2010, clause 5, read; the
figures of K and C are from memory).  A gate beam seldom does: else it tells that somebody is there, and is not judged
by S.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from gatesim.events import Direction
from gatesim.field.budget import BEGUN, Budget, Line, against, highest_speed, reversal, stop_line
from gatesim.field.limits import Limits
from gatesim.plant.leaves import as_leaf, leaves_of_beam
from gatesim.plant.site import Beam, Monitoring, Site, guarded

INTERRUPTED = "ray interrupted"
HAND, WALK = 2_000.0, 1_600.0
"""K in mm/s: ISO 13855:2010, 6.2, from memory; 2000 only where S comes to 500 mm at most."""
CLOSE, LEAST = 500_000.0, 100_000.0
"""um: up to here K is 2000; and S is never less (ISO 13855:2010, 6.2, from memory)."""
FINE = 40_000.0
"""um: detection up to which C = 8 (d - 14 mm); above, C is 850 mm (ISO 13855:2010, 6.2, from memory)."""
COARSE_C = 850_000.0
PRESS = 63 * 25_400.0
"""um/s: 63 in/s, 29 CFR 1910.217(c)(3)(iii)(e), read; for mechanical power presses, so an analogue."""


@dataclass(frozen=True, slots=True)
class Separation:
    """S = K T + C of one beam (um, us; K in mm/s), and where it stands."""

    beam: str
    direction: Direction
    zones: tuple[str, ...]
    distance: float
    detects: float
    lines: tuple[Line, ...]
    k: float
    c: float
    least: float
    press: float
    """63 in/s times T, without any C: 29 CFR 1910.217(c)(3)(iii)(e), as analogue."""

    @property
    def time(self) -> int:
        """T: from the ray interrupted to the leaf at rest, at the worst (us)."""
        return sum(line.us for line in self.lines)

    @property
    def is_met(self) -> bool:
        """The ray is at least S from the leaf."""
        return self.distance >= self.least


def least_distance(time: float, detects: float) -> tuple[float, float, float]:
    """(K, C, S) for T (us) and the smallest object detected (um): mm/s, um, um.

    S = K T + C, ISO 13855:2010, clause 5 (read); K, C and the least S of 6.2 are from memory.
    """
    if detects > FINE:
        return WALK, COARSE_C, WALK * time / 1_000 + COARSE_C
    c = max(0.0, 8 * (detects - 14_000.0))
    near = max(HAND * time / 1_000 + c, LEAST)
    if near <= CLOSE:
        return HAND, c, near
    return WALK, c, max(WALK * time / 1_000 + c, CLOSE)


def press_distance(time: float) -> float:
    """63 in/s times T (us), in um: 29 CFR 1910.217(c)(3)(iii)(e), read; for mechanical power presses."""
    return PRESS * time / 1e6


def separation(site: Site, beam: Beam) -> Separation:
    """The sum for one beam."""
    way = guarded(site, beam)
    stops = [stop_line(one, highest_speed(one, way, 0.0, one.gate.travel)) for one in _leaves(site, beam)]
    lines = (*_seen(beam), max(stops, key=lambda line: line.us))
    time = sum(line.us for line in lines)
    k, c, least = least_distance(time, beam.detects)
    return Separation(beam.name, way, beam.zones, beam.distance, beam.detects, lines, k, c, least, press_distance(time))


def _leaves(site: Site, beam: Beam) -> list[Site]:
    """The site as each of the leaves that the beam guards; the one that takes longest counts."""
    return [as_leaf(site, leaf) for leaf in leaves_of_beam(site, beam)]


def _seen(beam: Beam) -> tuple[Line, Line]:
    if beam.monitoring is Monitoring.CONTINUOUSLY:
        pulse = Line("test pulse", beam.test_pulse, "interrupted just as a test begins")
    else:
        pulse = Line("test pulse", 0, "not tested in motion")
    return pulse, Line("response time", beam.response_time, "of the output")


def beam_budget(site: Site, beam: Beam, limits: Limits) -> Budget:
    """From the ray interrupted to the reversal begun."""
    way = guarded(site, beam)
    backs = [reversal(one, highest_speed(one, way, 0.0, one.gate.travel)) for one in _leaves(site, beam)]
    lines = (*_seen(beam), *max(backs, key=lambda lines: sum(line.us for line in lines)))
    return Budget(beam.name, "", way, INTERRUPTED, BEGUN, lines, *against(limits.beam))


def unseen(beam: Beam, start: float, end: float) -> float:
    """How much (um) of a stretch of the travel the ray does not run along."""
    return (end - start) - max(0.0, min(end, beam.end) - max(start, beam.start))


Said = tuple[str, str, str, str]
"""A row of the commissioning sheet: device, do, expect, what a wrong result points to."""

_POINTS = (
    "at 25 mm and 305 mm from each end of the ray and in the middle (five points, 16 CFR 1211.11(b), horizontal "
    "doors, as analogue), with a white upright board of 152 x 305 mm (1211.11(c))"
)


def _ms(us: float) -> str:
    return f"{math.ceil(us / 1000)} ms"


def at_rest(site: Site, beam: Beam) -> Iterator[Said]:
    """What is tried at a beam with the leaf at rest."""
    way, seen = guarded(site, beam).value, _ms(beam.test_pulse + beam.response_time)
    asked = beam.monitoring is Monitoring.BEFORE_EACH_MOVE
    found = "test pulse not answered" if asked else f"test pulse not answered, within {_ms(beam.test_period)}"
    yield (
        beam.name,
        f"Power on, stand clear of the travel. Interrupt the ray {_POINTS}.",
        f"reported interrupted, for {way} and no other, within {seen}, at each point",
        "other direction: inputs swapped; not at every point: aim, reflection, another emitter",
    )
    yield (
        beam.name,
        f"Ray still interrupted by the board, step away, give the command for {way}. Then board away.",
        "start refused, this beam named; the leaf does not move, nor when the ray is clear",
        f"the beam does not guard {way}, or the command was kept: stop, do not go on",
    )
    yield (
        beam.name,
        "Power off, proved off. One lead off the output. Power on.",
        f"reported interrupted; {way} refused",
        "the output is not fail-safe: open must mean interrupted",
    )
    yield (
        beam.name,
        f"Power off, proved off. Leads joined at the input. Power on, give the command for {way}.",
        f"{found}; {way} refused; stays until reset",
        "the beam is not tested",
    )
    yield (
        beam.name,
        "Power off, proved off. Leads as they belong. Power on, reset at the gate. Again at low sun.",
        "in order; the leaf does not move",
        "dazzled: shade the receiver, or change the ends round",
    )


def in_motion(site: Site, beam: Beam, budget: Budget, distance: str) -> Iterator[Said]:
    """What is tried at a beam with the leaf moving."""
    way = guarded(site, beam)
    yield (
        beam.name,
        f"Run {way.value}. Put a long test piece into the ray from outside the travel.",
        f"stops, reversal begun within {_ms(budget.total)}; {distance}; no alarm, and nothing is counted",
        "late: response time longer than stated; alarm or lockout: counted as a demand",
    )
    yield (
        beam.name,
        f"Run {way.other.value}. Put the test piece into the same ray.",
        "reported interrupted; the leaf finishes its move",
        "it stops or reverses: beams swapped",
    )
