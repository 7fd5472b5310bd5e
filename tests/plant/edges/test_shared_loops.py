"""Edges that share a loop, and edges that open when pressed: from strip to code, level and report."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from gatesim.events import Direction, FrameSent, Level, LevelChanged, LoopChanged
from gatesim.plant.edges.converter import code_of
from gatesim.plant.loop_tables import Joining, Lead, StripKind
from gatesim.plant.site import Site, Zone
from gatesim.plant.wires import Branch, Code, Loop, ReportLine, StripContact, StripPressed

sys.path.insert(0, str(Path(__file__).parent.parent))

from edge_bench import EDGE, MS, Run, Set, begins, ends, pull, site, wired_site

HOST = replace(EDGE, name="upper", wire_resistance=3.0)
BANDS = {Joining.ONE_LEAD: (6_000, 10_500), Joining.SERIES: (12_500, 20_000), Joining.PARALLEL: (3_000, 6_000)}
WAYS = list(Joining)


def pair(joining: Joining, *, wired: bool = False, **changes: Any) -> Site:
    """Two edges on one loop, the second with 2 ohm of lead."""
    low, high = BANDS[joining]
    upper = replace(HOST, band_low=low, band_high=high, **changes)
    lower = replace(upper, name="lower", wire_resistance=2.0, joined_to="upper", joining=joining)
    table = wired_site() if wired else site()
    on = table.edges[0].input
    return replace(table, edges=(replace(upper, input=on), replace(lower, input=on)))


def press(edge: str, down: bool = True) -> Any:
    return pull(StripPressed(edge), down)


REST = {Joining.ONE_LEAD: 8_205.0, Joining.SERIES: 16_405.0, Joining.PARALLEL: 8_203 * 8_202 / 16_405}
SHUNT = 8_200 * 100 / 8_300
LOWER = {
    Joining.ONE_LEAD: 3 + 2 + SHUNT,
    Joining.SERIES: 8_203 + 2 + SHUNT,
    Joining.PARALLEL: 8_203 * (2 + SHUNT) / (8_203 + 2 + SHUNT),
}
UPPER = {
    Joining.ONE_LEAD: 3 + 8_202 * 100 / 8_302,
    Joining.SERIES: 3 + SHUNT + 8_202,
    Joining.PARALLEL: 8_202 * (3 + SHUNT) / (8_202 + 3 + SHUNT),
}


@pytest.mark.parametrize("joining", WAYS, ids=lambda one: one.value)
def test_a_press_of_either_goes_to_the_one_code_and_to_both_levels(joining: Joining) -> None:
    run = Run(pair(joining)).at(0)
    assert run.level(Loop("upper")) == pytest.approx(REST[joining], rel=1e-14)
    for edge, reads in (("lower", LOWER), ("upper", UPPER)):
        start = {"lower": 50, "upper": 150}[edge] * MS
        run.at(start, press(edge))
        assert run.level(Loop("upper")) == pytest.approx(reads[joining], rel=1e-14)
        assert run.level(Code("upper")) == code_of(run.level(Loop("upper")), 8_200, 10)
        run.at(start + 50 * MS, press(edge, down=False)).at(start + 90 * MS)
    levels = [(event.edge, event.level) for _, event in run.all(LevelChanged) if event.level is Level.PRESSED]
    assert levels == [("upper", Level.PRESSED), ("lower", Level.PRESSED)] * 2
    assert {event.edge for _, event in run.all(LoopChanged)} == {"upper"}
    assert all(len(event.levels) == 2 and len(set(event.levels)) == 1 for _, event in run.all(FrameSent))


@pytest.mark.parametrize("wired", [False, True])
def test_each_edge_of_a_loop_is_reported(wired: bool) -> None:
    run = Run(pair(Joining.PARALLEL, wired=wired)).at(0).at(300 * MS, press("lower")).at(420 * MS)
    assert [run.level(ReportLine(edge)).level for edge in ("upper", "lower")] == [Level.PRESSED, Level.PRESSED]
    assert [run.level(ReportLine(edge)).edge for edge in ("upper", "lower")] == ["upper", "lower"]


def test_a_loop_of_both_directions_is_a_press_of_both() -> None:
    table = pair(Joining.ONE_LEAD)
    edges = (table.edges[0], replace(table.edges[1], zone="rear"))
    both = replace(table, edges=edges, zones=(*table.zones, Zone("rear", Direction.OPENING, 0, 4e6)))
    run = Run(both).at(0).at(300 * MS, press("upper")).at(420 * MS)
    assert run.level(ReportLine("lower")).level is Level.PRESSED


def test_a_broken_branch_reads_as_the_other_edge_alone() -> None:
    """The band of two makes it a fault; a band wide enough for one takes it for both."""
    broken = begins(Set(None), Branch("lower"))
    for high, level in ((6_000, Level.HIGH), (10_500, Level.REST)):
        table = pair(Joining.PARALLEL)
        table = replace(table, edges=tuple(replace(edge, band_high=high) for edge in table.edges))
        run = Run(table).at(0).at(50 * MS, broken).at(150 * MS)
        assert run.level(Loop("upper")) == 8_203.0
        assert [run.level(ReportLine(edge)).level for edge in ("upper", "lower")] == [level, level]
        run.at(160 * MS, ends()).at(260 * MS)
        assert run.level(ReportLine("lower")).level is Level.REST


def test_with_both_branches_broken_the_loop_is_open() -> None:
    run = Run(pair(Joining.PARALLEL)).at(0)
    run.at(50 * MS, begins(Set(None), Branch("lower")), begins(Set(None), Branch("upper"), "g")).at(150 * MS)
    assert run.level(Loop("upper")) == 1e9
    assert run.level(ReportLine("upper")).level is Level.OPEN


def test_in_series_a_band_that_takes_one_edge_hides_a_press() -> None:
    table = pair(Joining.SERIES)
    for low, level in ((12_500, Level.PRESSED), (6_000, Level.REST)):
        edges = tuple(replace(edge, band_low=low) for edge in table.edges)
        run = Run(replace(table, edges=edges)).at(0).at(300 * MS, press("upper")).at(420 * MS)
        assert run.level(ReportLine("upper")).level is level


def opening() -> Site:
    return site(edge={"strip": StripKind.OPENS})


def test_an_opening_strip_lies_in_series_and_opens_when_pressed() -> None:
    run = Run(opening()).at(0)
    assert run.level(StripContact("edge")) == 100
    assert run.level(Loop("edge")) == 3 + 8_200 + 100
    run.at(50 * MS, press("edge")).at(120 * MS)
    assert run.level(StripContact("edge")) is None
    assert run.level(Loop("edge")) == 1e9
    assert run.level(ReportLine("edge")).level is Level.PRESSED
    run.at(200 * MS, press("edge", down=False)).at(300 * MS)
    assert run.level(ReportLine("edge")).level is Level.REST


@pytest.mark.parametrize(("ohm", "level"), [
    (1e9, Level.PRESSED), (15_000.0, Level.PRESSED), (8_300.0, Level.REST), (4_000.0, Level.INVALID),
    (0.5, Level.INVALID),
])
def test_an_opening_loop_is_pressed_above_its_band_and_faulty_below(ohm: float, level: Level) -> None:
    """Above the band is a demand, whatever opened it; nothing that a press does leads below."""
    run = Run(opening()).at(0).at(50 * MS, begins(Set(ohm), Loop("edge"))).at(200 * MS)
    assert run.level(ReportLine("edge")).level is level


def test_opening_strips_in_one_lead_open_it_each() -> None:
    table = pair(Joining.ONE_LEAD, strip=StripKind.OPENS)
    for edge in ("upper", "lower"):
        run = Run(table).at(0)
        assert run.level(Loop("upper")) == 3 + 100 + 2 + 8_200 + 100
        run.at(300 * MS, press(edge)).at(420 * MS)
        assert run.level(Loop("upper")) == 1e9
        assert [run.level(ReportLine(one)).level for one in ("upper", "lower")] == [Level.PRESSED, Level.PRESSED]


def test_lead_joints_and_leakage_are_in_the_loop() -> None:
    lead = Lead(joints=4, joint_resistance=0.5, leakage=1e6, leakage_length=100e6)
    run = Run(site(edge={"lead": lead, "wire_resistance": 0.0, "wire_gauge": 22, "wire_length": 200 * 304_800.0})).at(0)
    # 200 ft of AWG 22 pair: 6.456 ohm; 1 Mohm for 100 m is 1640 kohm for its 60.96 m.
    beside = 8_200 * (1e8 / 60.96) / (8_200 + 1e8 / 60.96)
    assert run.level(Loop("edge")) == pytest.approx(6.456 + 2 + beside, rel=1e-12)


def test_a_chatter_or_an_invalid_reading_counts_for_the_whole_loop() -> None:
    run = Run(pair(Joining.ONE_LEAD)).at(0).at(50 * MS, begins(Set(-1), Code("upper"))).at(200 * MS)
    assert [run.level(ReportLine(edge)).level for edge in ("upper", "lower")] == [Level.INVALID, Level.INVALID]


def test_loops_of_one_node_keep_their_own_levels() -> None:
    """A loop of its own between the two that share one: each edge gets the level of its loop."""
    table = pair(Joining.PARALLEL)
    upper, lower = table.edges
    alone = replace(EDGE, name="alone")
    run = Run(replace(table, edges=(upper, alone, lower))).at(0).at(300 * MS, press("alone")).at(420 * MS)
    assert [run.level(ReportLine(edge)).level for edge in ("upper", "alone", "lower")] == [
        Level.REST, Level.PRESSED, Level.REST]
    run.at(430 * MS, press("alone", down=False)).at(600 * MS, press("lower")).at(720 * MS)
    assert [run.level(ReportLine(edge)).level for edge in ("upper", "alone", "lower")] == [
        Level.PRESSED, Level.REST, Level.PRESSED]
