"""Copper, joints and leakage of a lead, against wire tables and rules of thumb."""

from __future__ import annotations

from dataclasses import replace

import pytest

from gatesim.plant import cable
from gatesim.plant.cable import FOOT, TABLE
from gatesim.plant.loop_tables import Lead
from gatesim.plant.site import Edge

EDGE = Edge("edge", "post", "tx", 8200, 6000, 10_500, 30_000, 3.0, 100, 2e6, 5000, 50_000, 30_000, 400_000)


def test_a_hundred_feet_of_awg_22_pair() -> None:
    """University wire table, read: 16.14 ohm per 1000 ft; both wires of 100 ft are 3.228 ohm."""
    assert cable.pair_resistance(22, 100 * FOOT) == pytest.approx(3.228)


@pytest.mark.parametrize(("gauge", "diameter"), [(18, 0.0403), (24, 0.0201)])
def test_area_and_gauge_agree(gauge: int, diameter: float) -> None:
    """Diameters in inches from the same table, read: the area gives the table's resistance within 1 %."""
    area = 3.141592653589793 * (diameter * 25.4) ** 2 / 4
    assert cable.pair_by_area(area, 100 * FOOT) == pytest.approx(cable.pair_resistance(gauge, 100 * FOOT), rel=0.01)


@pytest.mark.parametrize(("gauge", "per_km"), [(18, 20.948), (20, 33.308), (22, 52.962), (24, 84.213)])
def test_area_of_the_diameter_formula_gives_the_calculated_figure(gauge: int, per_km: float) -> None:
    """0.127 x 92^((36 - n)/39) mm (ASTM B258, from memory) with 17.241 nOhm m."""
    diameter = 0.127 * 92 ** ((36 - gauge) / 39)
    area = 3.141592653589793 * diameter**2 / 4
    assert cable.pair_by_area(area, 500e6) == pytest.approx(per_km, rel=2e-5)


def test_rules_of_thumb_of_the_table() -> None:
    """Three numbers more double the resistance, ten make it tenfold (wire calculator page, read)."""
    assert TABLE[22] / TABLE[12] == pytest.approx(10, rel=0.02)
    assert TABLE[30] / TABLE[20] == pytest.approx(10, rel=0.02)
    assert cable.pair_resistance(23, FOOT) is None


def test_copper_from_20_to_75_degrees() -> None:
    """The ratio is about 0.82 (same page as NEC chapter 9, Table 8, read in a copy); AWG 18 has 7.77 there (from
    memory)."""
    assert 1 / cable.copper_at(75.0) == pytest.approx(0.82, abs=0.005)
    assert TABLE[18] * cable.copper_at(75.0) == pytest.approx(7.77, rel=0.002)
    assert cable.copper_at(20.0) == 1.0


def test_stated_wire_holds_and_nought_is_derived() -> None:
    known = replace(EDGE, wire_gauge=22, wire_length=100 * FOOT)
    assert cable.wire(known) == 3.0
    assert cable.wire(replace(known, wire_resistance=0.0)) == pytest.approx(3.228)
    by_area = replace(known, wire_resistance=0.0, wire_gauge=None, lead=Lead(area=0.5))
    assert cable.wire(by_area) == pytest.approx(2 * 17.241e-9 * 30.48 / 0.5e-6)
    assert cable.wire(replace(EDGE, wire_resistance=0.0)) == 0.0


def test_leakage_by_length() -> None:
    """Half a megohm for 100 m is a quarter of one for 200 m."""
    lead = Lead(leakage=500e3, leakage_length=100e6)
    assert cable.leakage(replace(EDGE, lead=lead, wire_length=200e6)) == 250e3
    assert cable.leakage(replace(EDGE, lead=Lead(leakage=500e3))) == 500e3
    assert cable.leakage(EDGE) is None
    assert cable.leakage(replace(EDGE, lead=Lead())) is None


def test_joints_come_on_top() -> None:
    assert cable.series(replace(EDGE, lead=Lead(joints=6, joint_resistance=0.05))) == pytest.approx(3.3)
