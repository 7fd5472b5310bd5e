"""Expected readings against the wire table and Ohm's law."""

from __future__ import annotations

from dataclasses import replace

import pytest
from field_site import an_edge

from gatesim.field.loops import loop_of
from gatesim.plant.cable import FOOT, pair_resistance
from gatesim.plant.loop_tables import Joining, Lead, StripKind
from gatesim.plant.nets import OPEN_WIRE


def test_a_hundred_feet_of_awg_22_pair() -> None:
    # University wire table: 16.14 ohm/1000 ft at 20 degC; both wires of 100 ft: 3.228 ohm.
    assert pair_resistance(22, 100 * FOOT) == pytest.approx(3.228)


@pytest.mark.parametrize(("gauge", "per_kft"), [(18, 6.3849), (20, 10.1524), (22, 16.1429), (24, 25.6682)])
def test_table_agrees_with_the_diameter_formula(gauge: int, per_kft: float) -> None:
    # ASTM B258's formula (from memory) with 17.241 nOhm m agrees with the table to 0.03 %.
    assert pair_resistance(gauge, 500 * FOOT) == pytest.approx(per_kft, rel=0.0004)


def test_gauge_that_the_table_lacks_is_not_checked() -> None:
    assert pair_resistance(23, FOOT) is None
    made = loop_of(an_edge("edge", "gap", "node", wire_gauge=23, wire_length=FOOT))
    assert made.wires_expected is None
    assert not made.troubles


def test_rest_and_pressed() -> None:
    # Contact of 1 kohm beside 8.2 kohm is 891.3 ohm; 3.228 ohm of wire on top of both.
    made = loop_of(an_edge("edge", "gap", "node", wire_resistance=3.228, contact_resistance=1_000))
    assert made.at_rest == pytest.approx(8_203.228)
    assert made.pressed == pytest.approx(894.532, abs=0.001)


@pytest.mark.parametrize(("change", "said"), [
    ({"termination": 10_000}, "outside its band"),
    ({"contact_resistance": 100_000}, "no press would be seen"),
    ({"open_above": 9_000}, "open figure"),
    ({"wire_gauge": 22, "wire_length": 100 * FOOT}, "3.228 ohm by gauge"),
])
def test_figures_that_do_not_agree_are_said(change: dict[str, float], said: str) -> None:
    assert any(said in one for one in loop_of(an_edge("edge", "gap", "node", **change)).troubles)


def test_wires_within_a_tenth_agree() -> None:
    edge = an_edge("edge", "gap", "node", wire_resistance=3.0, wire_gauge=22, wire_length=100 * FOOT)
    assert not loop_of(edge).troubles


def test_edges_that_share_a_loop_are_read_together() -> None:
    first = an_edge("one", "gap", "node", band_low=3_000, band_high=6_000)
    second = an_edge("other", "gap", "node", band_low=3_000, band_high=6_000, joined_to="one",
                     joining=Joining.PARALLEL)
    made = loop_of(second, (first, second))
    assert made.at_rest == pytest.approx(8_200.3 / 2)
    assert made.shares == ("one",)
    assert made.without == 8_200.3
    assert loop_of(first).without is None
    assert made.troubles == ()
    wide = [loop_of(replace(first, band_low=9_000, band_high=9_800), (first, second))]
    assert any("outside its band" in said for one in wide for said in one.troubles)


def test_an_edge_that_opens_is_pressed_above_its_band() -> None:
    made = loop_of(an_edge("edge", "gap", "node", strip=StripKind.OPENS))
    assert (made.at_rest, made.pressed, made.opens) == (8_320.3, OPEN_WIRE, True)
    wet = loop_of(an_edge("edge", "gap", "node", strip=StripKind.OPENS, lead=Lead(leakage=9_000.0)))
    assert any("not above its band" in said for said in wet.troubles)
    assert wet.dry == 8_320.3


def test_wires_by_area_and_derived_ones_say_so() -> None:
    made = loop_of(an_edge("edge", "gap", "node", wire_resistance=0.0, wire_length=30e6, lead=Lead(area=0.5)))
    assert made.wires_derived
    assert made.wires_stated == made.wires_expected == pytest.approx(2 * 17.241e-9 * 30 / 0.5e-6)
    assert "area" in made.wires_from
