"""What a meter should read at an edge's leads, and whether the site's figures agree with one another."""

from __future__ import annotations

from dataclasses import dataclass

from gatesim.plant.edges.loop import at_terminals
from gatesim.plant.site import Edge

TABLE = {12: 1.588, 14: 2.525, 16: 4.016, 18: 6.385, 20: 10.15, 22: 16.14, 24: 25.67, 26: 40.81, 28: 64.9, 30: 103.2}
"""Copper wire at 20 degC, ohm per 1000 ft by AWG number: university wire table."""

FOOT = 12 * 25_400.0

AGREES = 0.10
"""Share by which the stated wire resistance may differ from that of its gauge and length (ours)."""

LEAST = 0.1
"""Ohms below which two wire resistances count as equal (ours: a meter's last digit)."""


@dataclass(frozen=True, slots=True)
class LoopPlan:
    """Resistances of one edge's loop (ohm)."""

    edge: str
    at_rest: float
    pressed: float
    open_above: float
    shorted: float
    """At the transmitter's terminals; at the strip it reads the wires' resistance more."""
    band_low: float
    band_high: float
    wires_stated: float
    wires_expected: float | None
    """From gauge and length at 20 degC; None where one of them is not given or the gauge is not in the table."""
    troubles: tuple[str, ...]


def pair_resistance(gauge: int, length: float) -> float | None:
    """Both wires of a pair (ohm) of this AWG number and length (um); None where the table has no such gauge."""
    per_kft = TABLE.get(gauge)
    return None if per_kft is None else 2 * length / FOOT * per_kft / 1000


def loop_of(edge: Edge) -> LoopPlan:
    """Expected readings of one edge."""
    rest = at_terminals(edge.wire_resistance, edge.termination, None)
    pressed = at_terminals(edge.wire_resistance, edge.termination, edge.contact_resistance)
    expected = None
    if edge.wire_gauge is not None and edge.wire_length is not None:
        expected = pair_resistance(edge.wire_gauge, edge.wire_length)
    return LoopPlan(edge.name, rest, pressed, edge.open_above, 0.0, edge.band_low, edge.band_high,
                    edge.wire_resistance, expected, tuple(_troubles(edge, rest, pressed, expected)))


def _troubles(edge: Edge, rest: float, pressed: float, expected: float | None) -> list[str]:
    said = []
    if not edge.band_low <= rest <= edge.band_high:
        said.append(f"at rest it reads {rest:.0f} ohm, outside its band of {edge.band_low:.0f} to "
                    f"{edge.band_high:.0f} ohm")
    if pressed >= edge.band_low:
        said.append(f"pressed it reads {pressed:.0f} ohm, not below its band: no press would be seen")
    if edge.open_above <= edge.band_high:
        said.append("the open figure is not above the band")
    if expected is not None:
        gap = abs(expected - edge.wire_resistance)
        if gap > LEAST and gap > AGREES * max(expected, edge.wire_resistance):
            said.append(f"wires: {edge.wire_resistance:.3f} ohm stated, {expected:.3f} ohm by gauge and length")
    return said
