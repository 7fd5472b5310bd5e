"""What an edge's lead reads: copper by gauge or area, length and temperature; joints; leakage across the pair."""

from __future__ import annotations

from gatesim.plant.site import Edge

TABLE = {12: 1.588, 14: 2.525, 16: 4.016, 18: 6.385, 20: 10.15, 22: 16.14, 24: 25.67, 26: 40.81, 28: 64.9, 30: 103.2}
"""Copper wire at 20 degC, ohm per 1000 ft by AWG number: university wire table."""

FOOT = 12 * 25_400.0

RESISTIVITY = 17.241e-9
"""Of copper at 20 degC, ohm metres; by the diameter formula it agrees with the table to 0.03 %."""

TABLE_SLOPE, TABLE_AT = 0.00323, 75.0
"""Copper's share for each kelvin, and the temperature (degC) that it counts from: NEC chapter 9, Table 8, note."""

COPPER_AT = 20.0
"""Temperature (degC) of every resistance that a site states."""


def pair_resistance(gauge: int, length: float) -> float | None:
    """Both wires of a pair (ohm) of this AWG number and length (um); None where the table has no such gauge."""
    per_kft = TABLE.get(gauge)
    return None if per_kft is None else 2 * length / FOOT * per_kft / 1000


def pair_by_area(area: float, length: float) -> float | None:
    """Both wires of a pair (ohm) of this cross-section (mm2) and length (um) at 20 degC; None where there is no
    copper."""
    return 2 * RESISTIVITY * (length * 1e-6) / (area * 1e-6) if area > 0 else None


def derived_wire(edge: Edge) -> float | None:
    """The wires' resistance (ohm, 20 degC) by gauge or area, and length; None where these do not say."""
    if edge.wire_length is None:
        return None
    if edge.wire_gauge is not None:
        return pair_resistance(edge.wire_gauge, edge.wire_length)
    if edge.lead is not None and edge.lead.area is not None:
        return pair_by_area(edge.lead.area, edge.wire_length)
    return None


def wire(edge: Edge) -> float:
    """The wires' resistance (ohm, 20 degC): as stated, or derived where 0 is stated."""
    if edge.wire_resistance > 0:
        return edge.wire_resistance
    return derived_wire(edge) or 0.0


def joints(edge: Edge) -> float:
    """The joints in the lead, all together (ohm)."""
    return edge.lead.joints * edge.lead.joint_resistance if edge.lead is not None else 0.0


def series(edge: Edge) -> float:
    """The lead from end to end (ohm, 20 degC): wires and joints."""
    return wire(edge) + joints(edge)


def leakage(edge: Edge) -> float | None:
    """The leakage across a wet lead (ohm), or None for a dry one.  Twice the length leaks twice as much."""
    lead = edge.lead
    if lead is None or lead.leakage is None:
        return None
    if lead.leakage_length is None:
        return lead.leakage
    return lead.leakage * lead.leakage_length / edge.wire_length if edge.wire_length else None


def copper_at(temperature: float) -> float:
    """What copper's resistance at 20 degC is multiplied by at this temperature (degC).

    R2 = R1 (1 + 0.00323 (T2 - 75)), R1 at 75 degC: NEC chapter 9, Table 8, note (read in a copy).
    """
    return (1 + TABLE_SLOPE * (temperature - TABLE_AT)) / (1 + TABLE_SLOPE * (COPPER_AT - TABLE_AT))
