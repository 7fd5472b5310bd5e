"""What a cell gives where the site is, and what a transmitter takes: settled once, when a site is loaded.

exp is used here and nowhere in an instant (docs/timing.md, sections 2 and 6).
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

from gatesim.plant import wires
from gatesim.plant.nets import hosts, members, rest_ohm
from gatesim.plant.site import Cell, OperatorBattery, Site, Transmitter, temperature_of

HOUR = 3_600_000_000
"""Microseconds."""

Points = tuple[tuple[float, float], ...]
"""(x, y), x rising: straight lines between them, level before the first and after the last."""


class Figures(NamedTuple):
    """A cell at one temperature, under one kind of load."""

    capacity: float
    """Usable charge (uAh)."""
    curve: Points
    """Voltage without load (mV) over the share of the usable charge that is left."""
    resistance: float
    """Internal (ohm)."""
    settled: float = 1.0
    """Share of current times resistance to which the sag has grown by the end of a burst."""


def between(points: Points, x: float) -> float:
    """The value at x."""
    x0, y0 = points[0]
    if x < x0:
        return y0
    for x1, y1 in points[1:]:
        if x < x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
        x0, y0 = x1, y1
    return y0


def falls_to(points: Points, y: float) -> float | None:
    """The largest x at which a value that rises with x is no more than y; None where it is more everywhere.

    Where it stays at or below y to the end, the last x.
    """
    if points[-1][1] <= y:
        return points[-1][0]
    for (x0, y0), (x1, y1) in reversed(tuple(pairwise(points))):
        if y0 <= y < y1:
            return x0 + (x1 - x0) * (y - y0) / (y1 - y0)
    return None


def curve_of(cell: Cell) -> Points:
    """Voltage without load over the share of the charge left, from nothing up to where it is level."""
    if cell.discharge:
        falling = [(point.charge_left, point.open_voltage) for point in cell.discharge]
        return (*reversed(falling), (1.0, cell.open_voltage))
    assert cell.knee is not None
    assert cell.end_voltage is not None
    if cell.knee <= 0:
        return ((0.0, cell.open_voltage),)
    return ((0.0, cell.end_voltage), (cell.knee, cell.open_voltage))


def resistance_at(cell: Cell, temperature: float) -> float:
    """Internal resistance (ohm) at this temperature (degC); level beyond the points."""
    if cell.resistance is not None:
        return cell.resistance
    return between(tuple([(point.temperature, point.resistance) for point in cell.temperatures]), temperature)


def usable_at(cell: Cell, temperature: float) -> float:
    """Share of the capacity that can be drawn at this temperature (degC); level beyond the points."""
    if not cell.temperatures:
        return 1.0
    return between(tuple([(point.temperature, point.usable) for point in cell.temperatures]), temperature)


def settled(resistance: float, capacitor: float, burst: float, spacing: float = 0.0, bursts: int = 1) -> float:
    """Share of I R that the last of n bursts in a row reaches.

    (1 - e^(-t/RC)) (1 + q + ... + q^(n-1)), q = e^(-s/RC).
    Internal resistance in ohm, the capacitor beside the cell in uF, the burst's length and the time from one beginning
    to the next in us.  One burst is the charging of a capacitor through a resistance; what a burst has taken out comes
    back by the same time constant, and what is still missing adds to the next.
    """
    tau = resistance * capacitor
    if tau <= 0:
        return 1.0
    grown = -math.expm1(-burst / tau)
    left, sum_ = math.exp(-max(spacing, burst) / tau), 0.0
    for _ in range(bursts):
        sum_ = 1.0 + left * sum_
    return min(grown * sum_, 1.0)


def figures_of(node: Transmitter, temperature: float) -> Figures:
    """The cell of a transmitter at a temperature (degC), with the last of a change's bursts as its load."""
    cell = node.cell
    resistance = resistance_at(cell, temperature)
    share = settled(resistance, node.capacitor, node.burst_length, node.event_spacing, node.event_repeats)
    return Figures(cell.capacity * usable_at(cell, temperature), curve_of(cell), resistance, share)


def operator_figures(battery: OperatorBattery, temperature: float) -> Figures:
    """The operator's battery at a temperature (degC), under a load that lasts."""
    cell = battery.cell
    return Figures(cell.capacity * usable_at(cell, temperature), curve_of(cell), resistance_at(cell, temperature))


def fresh(site: Site, node: Transmitter) -> wires.Cell:
    """The terminals of a full cell of this transmitter, where the site is."""
    made = figures_of(node, temperature_of(site))
    return wires.Cell(made.curve[-1][1], made.resistance, made.settled)


def sag(cell: wires.Cell, current: float) -> float:
    """What a burst of this current (uA) takes off the voltage (mV) by its end."""
    return current * cell.resistance * cell.settled / 1000


def divider_charge(site: Site, node: Transmitter) -> float:
    """Charge (uAh) that the dividers of a transmitter's loops take in one scan, every strip at rest: one divider a
    loop, however many edges share it."""
    if node.divider_time <= 0:
        return 0.0
    loops = [rest_ohm(members(site, host.name)) for host in hosts(site) if host.input == node.name]
    return sum(node.divider_voltage * 1000 / (node.pull_up + ohm) for ohm in loops) * node.divider_time / HOUR


def with_dividers(site: Site, node: Transmitter) -> Transmitter:
    """The transmitter with its dividers' charge among that of a scan."""
    more = divider_charge(site, node)
    return replace(node, sample_charge=node.sample_charge + more) if more > 0 else node


def operator_voltage(battery: OperatorBattery, temperature: float, charge: float | None = None) -> float:
    """Voltage (mV) of an operator's battery under its moving load, at a temperature (degC).

    `charge`: share of the usable charge that is left, by default that at the start of a run.
    """
    made = operator_figures(battery, temperature)
    without = between(made.curve, battery.cell.charge if charge is None else charge)
    return without - battery.moving_current * made.resistance / 1000


def supply_share(battery: OperatorBattery, temperature: float, charge: float | None = None) -> float:
    """What an operator's battery has left above dead, under its moving load, as a share of what a full one has.

    0 where it is dead.  `charge`: share of the usable charge that is left, by default that at the start of a run.
    """
    dead = battery.cell.dead_voltage
    full = operator_voltage(battery, temperature, 1.0) - dead
    now = operator_voltage(battery, temperature, charge) - dead
    return 0.0 if now <= 0 or full <= 0 else min(now / full, 1.0)

