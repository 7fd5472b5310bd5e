"""What a meter should read at an edge's leads, and whether the site's figures agree with one another."""

from __future__ import annotations

from dataclasses import dataclass

from gatesim.plant.cable import pair_resistance
from gatesim.plant.nets import at_terminals
from gatesim.plant.site import Edge

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
