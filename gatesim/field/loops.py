"""What a meter should read at an edge's leads, and whether the site's figures agree with one another."""

from __future__ import annotations

from dataclasses import dataclass

from gatesim.plant.cable import derived_wire, wire
from gatesim.plant.loop_tables import Joining, StripKind
from gatesim.plant.nets import Net, at_rest, contact_of, net_of, rest_ohm
from gatesim.plant.site import Edge

AGREES = 0.10
"""Share by which the stated wire resistance may differ from that of its gauge and length (ours)."""

LEAST = 0.1
"""Ohms below which two wire resistances count as equal (ours: a meter's last digit)."""


@dataclass(frozen=True, slots=True)
class LoopPlan:
    """Resistances of one edge's loop (ohm); of a shared loop as a whole, with this edge alone pressed."""

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
    opens: bool = False
    """Whether a press opens the loop."""
    shares: tuple[str, ...] = ()
    """The other edges on the loop."""
    joining: Joining | None = None
    dry: float | None = None
    """At rest without the leakage of a wet lead; None where none is stated."""
    without: float | None = None
    """At rest with this edge's wire off where it lies beside others; None where it does not."""
    wires_from: str = ""
    """Where the wires' resistance by length comes from."""
    wires_derived: bool = False
    """Whether no wire resistance is stated but that."""


def loop_of(edge: Edge, on: tuple[Edge, ...] = ()) -> LoopPlan:
    """Expected readings of one edge; `on`: all edges on its loop, the one that has the loop first."""
    on = on or (edge,)
    net = net_of(on)
    rest = rest_ohm(on)
    pressed = net.reads([contact_of(one, one.name == edge.name) for one in on])
    expected = derived_wire(edge)
    return LoopPlan(
        edge.name, rest, pressed, edge.open_above, 0.0, edge.band_low, edge.band_high, wire(edge), expected,
        tuple(_troubles(edge, rest, pressed, expected)), edge.strip is StripKind.OPENS,
        tuple([one.name for one in on if one.name != edge.name]), net.joining, _dry(net, on),
        _without(net, on, edge),
        "by gauge and length (university wire table, 20 degC)" if edge.wire_gauge is not None else
        "by area and length (17.241 nohm m, 20 degC)", edge.wire_resistance == 0 and expected is not None)


def _without(net: Net, on: tuple[Edge, ...], edge: Edge) -> float | None:
    if net.joining is not Joining.PARALLEL:
        return None
    return net.broken([one.name for one in on].index(edge.name), at_rest(on), near=True)


def _dry(net: Net, on: tuple[Edge, ...]) -> float | None:
    if all(link.leakage is None for link in net.links):
        return None
    links = tuple([link._replace(leakage=None) for link in net.links])
    return net._replace(links=links).reads(at_rest(on))


def _troubles(edge: Edge, rest: float, pressed: float, expected: float | None) -> list[str]:
    said = []
    if not edge.band_low <= rest <= edge.band_high:
        said.append(f"at rest it reads {rest:.0f} ohm, outside its band of {edge.band_low:.0f} to "
                    f"{edge.band_high:.0f} ohm")
    if edge.strip is StripKind.OPENS:
        if pressed <= edge.band_high:
            said.append(f"pressed it reads {pressed:.0f} ohm, not above its band: no press would be seen")
    elif pressed >= edge.band_low:
        said.append(f"pressed it reads {pressed:.0f} ohm, not below its band: no press would be seen")
    if edge.open_above <= edge.band_high:
        said.append("the open figure is not above the band")
    if expected is not None:
        gap = abs(expected - wire(edge))
        if gap > LEAST and gap > AGREES * max(expected, wire(edge)):
            said.append(f"wires: {wire(edge):.3f} ohm stated, {expected:.3f} ohm by "
                        f"{'gauge' if edge.wire_gauge is not None else 'area'} and length")
    return said
