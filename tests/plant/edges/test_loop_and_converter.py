"""The edge's loop from strip to code.

Divider figures: own derivation, agreeing with a circuit simulator to 6 digits.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from gatesim.events import LoopChanged
from gatesim.plant.edges.converter import code_of
from gatesim.plant.nets import OPEN_WIRE, at_terminals
from gatesim.plant.wires import Code, Loop, ReferenceCode, StripContact, StripPressed

sys.path.insert(0, str(Path(__file__).parent.parent))

from edge_bench import MS, Run, Set, begins, ends, parts, pull, site

RATIO_MV = 3300.0


def millivolts(ohm: float) -> float:
    return RATIO_MV * ohm / (ohm + 8200)


@pytest.mark.parametrize(("contact", "lead", "reads"), [
    (None, 0, 1650.0), (100, 0, 39.3), (1000, 0, 323.5), (2000, 0, 541.0), (4000, 0, 814.8), (8200, 0, 1100.0),
    (None, 30, 1653.0), (100, 30, 51.0), (1000, 30, 333.3), (2000, 30, 549.4), (4000, 30, 821.6), (8200, 30, 1105.4),
])
def test_divider_of_3_3_volts_and_8_2_kilohm(contact: float | None, lead: float, reads: float) -> None:
    assert millivolts(at_terminals(lead, 8200, contact)) == pytest.approx(reads, abs=0.05)


@pytest.mark.parametrize(("leak", "reads"), [(100e3, 1585.0), (20e3, 1369.3), (10e3, 1170.2)])
def test_leak_beside_the_termination(leak: float, reads: float) -> None:
    assert millivolts(at_terminals(0, 8200, leak)) == pytest.approx(reads, abs=0.05)


@pytest.mark.parametrize(("ohm", "code"), [
    (8200, 512), (OPEN_WIRE, 1023), (0, 0), (at_terminals(0, 8200, 1000), 100), (at_terminals(0, 8200, 100), 12),
    (float("inf"), 1023), (float("nan"), 0), (-5.0, 0),
])
def test_codes_of_a_ten_bit_converter(ohm: float, code: int) -> None:
    # 1023 * 323.5 / 3300 = 100.3; 1023 * 39.3 / 3300 = 12.2; half of 1023 rounds up.
    assert code_of(ohm, 8200, 10) == code


def test_one_per_cent_parts_stay_within_a_per_cent_of_code() -> None:
    # 1633.5 to 1666.5 mV of 3300.
    assert [code_of(8200 * k, 8200 / k, 16) * RATIO_MV / 65535 for k in (0.99, 1.01)] == pytest.approx(
        [1633.5, 1666.5], abs=0.1)


def test_lead_of_a_hundred_feet_of_thin_pair_adds_its_resistance() -> None:
    # 100 ft of AWG 22 pair: 3.228 ohm (university wire table, 16.14 ohm per 1000 ft, both wires).
    assert at_terminals(2 * 0.1 * 16.14, 8200, None) - 8200 == pytest.approx(3.228)


def test_without_any_resistance_the_loop_reads_none() -> None:
    assert at_terminals(0, 0, 0) == 0


def test_press_goes_from_strip_to_code_in_one_instant() -> None:
    run = Run(site()).at(0).at(50 * MS, pull(StripPressed("edge"), True))
    assert run.level(StripContact("edge")) == 100
    ohm = at_terminals(3, 8200, 100)
    assert run.level(Code("edge")) == code_of(ohm, 8200, 10) == 13
    assert run.all(LoopChanged) == [(50 * MS, LoopChanged("edge", ohm))]
    run.at(60 * MS, pull(StripPressed("edge"), False))
    assert run.all(LoopChanged)[1:] == [(60 * MS, LoopChanged("edge", 8203))]
    assert run.level(Code("edge")) == 512


def test_loop_is_told_as_it_stands_after_faults_on_its_wire() -> None:
    run = Run(site()).at(0).at(5 * MS, begins(Set(OPEN_WIRE), Loop("edge"))).at(9 * MS, ends())
    assert run.all(LoopChanged) == [(5 * MS, LoopChanged("edge", OPEN_WIRE)), (9 * MS, LoopChanged("edge", 8203))]


def test_reference_channel_reads_the_pull_up_against_itself() -> None:
    assert Run(site()).at(0).level(ReferenceCode("tx")) == 512


def test_every_edge_has_a_strip_a_loop_and_a_channel() -> None:
    names = [type(part).__name__ for part in parts(site()) if part.name == "edge"]
    assert sorted(names) == ["Channel", "EdgeLoop", "Strip"]
