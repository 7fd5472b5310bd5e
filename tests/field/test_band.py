"""Band design: worked figures, every corner, draws within the tolerances, and what reaches over a threshold."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from itertools import product
from random import Random
from typing import Any

import pytest
from field_site import a_site, an_edge
from hypothesis import given, settings
from hypothesis import strategies as st

from gatesim.field.band import FORMAT, LoopBand, as_json, design, loop_band
from gatesim.field.corners import Region, Shown, Span
from gatesim.plant.cable import FOOT, copper_at, leakage
from gatesim.plant.edges.converter import code_of
from gatesim.plant.loop_tables import ConverterSpread, Joining, Lead, LoopSpread, StripKind
from gatesim.plant.nets import OPEN_WIRE, Link, Net, branch
from gatesim.plant.site import Edge, Monitoring, WiredInput
from gatesim.report.band_text import band_text

MS = 1_000
EXACT = LoopSpread(0.0, 0.0)
NO_ERROR = ConverterSpread(0.0, 0.0, converter_error=0)
NODE = WiredInput("board", 10 * MS, 2, 5, Monitoring.CONTINUOUSLY, spread=NO_ERROR)
FINE = replace(NODE, converter_bits=24)
EDGE = replace(an_edge("edge", "gap", "board"), wire_resistance=0.0, spread=EXACT)


def spread_of(made: LoopBand, shown: Shown) -> Any:
    return next(one for one in made.spreads if one.shown is shown)


def at(edge: Edge | Sequence[Edge], node: WiredInput = NODE, coldest: float = 20.0, warmest: float = 20.0) -> LoopBand:
    """The band of one loop; at 20 degC unless said."""
    return loop_band([edge] if isinstance(edge, Edge) else edge, node, coldest, warmest)


# --- worked figures ----------------------------------------------------------------------------------------------


def test_exact_parts_read_half_the_supply() -> None:
    """8.2 kohm against 8.2 kohm: 1650.0 mV of 3.3 V (own derivation, agreeing with a circuit simulator)."""
    made = spread_of(at(EDGE), Shown.AT_REST)
    assert made.ohm == Span(8_200, 8_200)
    assert made.millivolt == Span(1_650, 1_650)
    assert made.code == Span(512, 512)


def test_one_per_cent_parts() -> None:
    """1633.5 to 1666.5 mV, same source."""
    node = replace(NODE, spread=replace(NO_ERROR, pull_up_tolerance=0.01))
    made = spread_of(at(replace(EDGE, spread=replace(EXACT, termination_tolerance=0.01)), node), Shown.AT_REST)
    assert made.millivolt == pytest.approx((1633.5, 1666.5), abs=0.05)


@pytest.mark.parametrize(("ohm", "tolerance", "low", "high"), [
    (8_200, 0.05, 7_790, 8_610), (8_200, 0.01, 8_118, 8_282), (10_000, 0.05, 9_500, 10_500),
    (10_000, 0.01, 9_900, 10_100),
])
def test_spread_of_preferred_values(ohm: float, tolerance: float, low: float, high: float) -> None:
    """E24 is 5 %, E96 1 % (IEC 60063 list, read); the ends calculated."""
    edge = replace(EDGE, termination=ohm, spread=replace(EXACT, termination_tolerance=tolerance))
    assert spread_of(at(edge), Shown.AT_REST).ohm == pytest.approx((low, high))


def test_drift_of_a_resistor() -> None:
    """10 kohm at 100 ppm/K over 60 K: 60 ohm (calculated, from a figure from memory)."""
    edge = replace(EDGE, termination=10_000, spread=replace(EXACT, termination_tempco=100e-6))
    assert spread_of(at(edge, NODE, -40.0, 20.0), Shown.AT_REST).ohm == pytest.approx((9_940, 10_060))


@pytest.mark.parametrize(("lead", "leak"), [(0.0, 15_229.0), (30.0, 14_986.0)])
def test_leakage_that_reaches_a_band_edge_of_1300_mv(lead: float, leak: float) -> None:
    """15.229 kohm, with 30 ohm of lead 14.986 kohm (own derivation, agreeing with a circuit simulator)."""
    edge = replace(EDGE, wire_resistance=lead, band_low=8_200 * 1_300 / 2_000)
    assert at(edge, FINE).bounds.leakage == pytest.approx(leak, abs=0.5)


def test_a_contact_and_a_leak_are_the_same_thing_to_a_single_edge() -> None:
    bounds = at(EDGE, FINE).bounds
    assert bounds.contact == bounds.leakage
    assert bounds.added == pytest.approx(EDGE.band_high - 8_200, rel=1e-5)


def test_lead_of_awg_22_by_length_and_temperature() -> None:
    """100 ft of pair: 3.228 ohm at 20 degC (university wire table); at 75 degC a 0.82nd part more (NEC, Table 8)."""
    edge = replace(EDGE, wire_gauge=22, wire_length=100 * FOOT)
    rest = spread_of(at(edge, NODE, 20.0, 75.0), Shown.AT_REST).ohm
    assert rest.low == pytest.approx(8_203.228)
    assert (rest.high - 8_200) == pytest.approx(3.228 / 0.82, rel=0.005)


def test_stated_and_derived_wire_are_both_in_the_spread() -> None:
    edge = replace(EDGE, wire_gauge=22, wire_length=100 * FOOT, wire_resistance=1.0)
    assert spread_of(at(edge), Shown.AT_REST).ohm == pytest.approx((8_201, 8_203.228))


def test_noise_hum_and_error_widen_every_spread() -> None:
    """33 mV of 3.3 V are 10.2 codes of 1023 to each side, two codes of error two more."""
    node = replace(NODE, spread=replace(NO_ERROR, noise=13.0, hum=20.0, converter_error=2))
    assert spread_of(at(EDGE, node), Shown.AT_REST).code == Span(512 - 11 - 2, 522 + 2)


# --- every corner, and draws between them -------------------------------------------------------------------------

JOINED = (None, *Joining)


def loop_of_two(joining: Joining | None, opens: bool = False) -> list[Edge]:
    """Two edges on a loop (or one), a wet and a dry lead, with spreads of their own."""
    kind = StripKind.OPENS if opens else StripKind.CLOSES
    first = replace(EDGE, wire_resistance=4.0, strip=kind, spread=LoopSpread(0.05, 2e-4),
                    lead=Lead(joints=3, joint_resistance=0.4, leakage=150e3))
    if joining is None:
        return [first]
    second = replace(first, name="second", wire_resistance=2.5, spread=LoopSpread(0.01, 1e-4, 3_000.0, 12_000.0),
                     lead=Lead(joints=1, joint_resistance=0.2), joined_to="edge", joining=joining)
    return [first, second]


ALL = [(joining, False) for joining in JOINED] + [(None, True), (Joining.ONE_LEAD, True)]
ROUGH = replace(NODE, spread=ConverterSpread(0.01, 1e-4, 3_300.0, 2, 3.0, 5.0))
COLD, WARM = -30.0, 65.0


class Drawn:
    """One loop as it may be built, by shares: 0 is one end of each tolerance, 1 the other."""

    def __init__(self, on: Sequence[Edge], node: WiredInput, share: Any) -> None:
        self.on, self.node, self.share = on, node, share
        self.degrees = COLD + share() * (WARM - COLD)
        kelvin = self.degrees - 20
        self.links = []
        for edge in on:
            own, lead = edge.spread or LoopSpread(), edge.lead or Lead()
            resistor = edge.termination * (1 + (2 * share() - 1) * own.termination_tolerance)
            resistor *= 1 + (2 * share() - 1) * own.termination_tempco * kelvin
            wires = edge.wire_resistance * copper_at(self.degrees) + share() * lead.joints * lead.joint_resistance
            wet, most = share(), leakage(edge)
            self.links.append(Link(edge.name, wires, resistor, None if most is None or wet == 0 else most / wet))
        spread = node.spread or ConverterSpread()
        self.pull_up = node.pull_up * (1 + (2 * share() - 1) * spread.pull_up_tolerance)
        self.pull_up *= 1 + (2 * share() - 1) * spread.pull_up_tempco * kelvin
        self.net = Net(tuple(self.links), on[1].joining if len(on) > 1 else None, on[0].strip is StripKind.OPENS)
        self.good = max(edge.contact_resistance for edge in on)

    def code(self, ohm: float) -> int:
        """What the converter makes of it, with noise, hum and error."""
        spread, full = self.node.spread or ConverterSpread(), (1 << self.node.converter_bits) - 1
        ratio = ohm / (ohm + self.pull_up) + (2 * self.share() - 1) * (spread.noise + spread.hum) / spread.reference
        off = round((2 * self.share() - 1) * spread.converter_error)
        return min(full, max(0, int((full * min(1.0, max(0.0, ratio)) + 0.5) // 1) + off))

    def closed(self) -> list[float | None]:
        return [self.share() * self.good if self.net.opens else None for _ in self.on]

    def some(self) -> set[int]:
        """Which edges are pressed: at least one."""
        count = len(self.on)
        return {int(self.share() * count) % count} | {k for k in range(count) if self.share() > 0.5}

    def ohms(self, shown: Shown) -> float:
        """The loop in this state."""
        own = [edge.spread or LoopSpread() for edge in self.on]
        contacts, k = self.closed(), int(self.share() * len(self.on)) % len(self.on)
        if shown is Shown.AT_REST:
            return self.net.reads(contacts)
        if shown is Shown.SHORT:
            on = self.links if self.net.joining in (None, Joining.ONE_LEAD) else [self.links[k]]
            return self.share() * sum(link.lead for link in on)
        if shown in (Shown.OPEN, Shown.BROKEN):
            if shown is Shown.OPEN and self.net.joining is Joining.PARALLEL:
                return OPEN_WIRE
            return self.net.broken(k, contacts, self.share() > 0.5)
        if shown is Shown.LEAKING:
            leak = self.share() * max(one.fault_leakage for one in own)
            other = self.links[k].leakage
            self.links[k] = self.links[k]._replace(leakage=leak if other is None else min(other, leak))
            return self.net._replace(links=tuple(self.links)).reads(contacts)
        low, high = (0.0, self.good) if shown is Shown.PRESSED else (self.good, max(one.aged_contact for one in own))
        for one in self.some():
            contacts[one] = None if self.net.opens else low + self.share() * (high - low)
        return self.net.reads(contacts)


@pytest.mark.parametrize(("joining", "opens"), ALL, ids=lambda one: str(one))
@settings(max_examples=200, deadline=None)
@given(seed=st.integers(0, 2**32 - 1))
def test_every_draw_within_the_tolerances_is_in_the_spread(joining: Joining | None, opens: bool, seed: int) -> None:
    """A third of the shares at either end, the rest between."""
    chance = Random(seed)
    on = loop_of_two(joining, opens)
    made = loop_band(on, ROUGH, COLD, WARM)
    for one in made.spreads:
        drawn = Drawn(on, ROUGH, lambda: chance.choice((0.0, 1.0, chance.random(), chance.random())))
        ohm = drawn.ohms(one.shown)
        assert one.ohm.low * (1 - 1e-12) <= ohm <= one.ohm.high * (1 + 1e-12), one.shown
        assert one.code.low <= drawn.code(ohm) <= one.code.high, one.shown


@pytest.mark.parametrize(("joining", "opens"), ALL, ids=lambda one: str(one))
def test_the_two_corners_are_the_farthest_of_all(joining: Joining | None, opens: bool) -> None:
    """Every part at either end, independently: none of the corners reads lower than the one or higher than the other,
    and those two are reached."""
    on = loop_of_two(joining, opens)
    made = spread_of(loop_band(on, NODE, COLD, WARM), Shown.AT_REST)
    drift = [(edge.spread or LoopSpread()).termination_tempco * 50 for edge in on]
    reads = []
    for ends in product((0, 1), repeat=4 * len(on)):
        links, contacts = [], []
        for k, edge in enumerate(on):
            resistor, lead, wet, contact = ends[4 * k: 4 * k + 4]
            own, cable = edge.spread or LoopSpread(), edge.lead or Lead()
            sign = 1 if resistor else -1
            wires = edge.wire_resistance * copper_at(WARM if lead else COLD)
            wires += lead * cable.joints * cable.joint_resistance
            links.append(Link(edge.name, wires, edge.termination * (1 + sign * own.termination_tolerance)
                              * (1 + sign * drift[k]), leakage(edge) if wet else None))
            contacts.append(contact * edge.contact_resistance if opens else None)
        reads.append(Net(tuple(links), joining, opens).reads(contacts))
    assert (min(reads), max(reads)) == pytest.approx(tuple(made.ohm), rel=1e-12)


# --- laws ----------------------------------------------------------------------------------------------------------


def room(made: LoopBand) -> float:
    """What is left for band_low: from the highest good press to the lowest reading at rest, in shares of the supply."""
    return float(spread_of(made, Shown.AT_REST).millivolt.low - spread_of(made, Shown.PRESSED).millivolt.high)


@settings(max_examples=80, deadline=None)
@given(st.sampled_from([*JOINED]), st.floats(0, 400e6), st.floats(0, 400e6), st.sampled_from([18, 22, 26]))
def test_a_longer_cable_never_widens_a_band(joining: Joining | None, one: float, other: float, gauge: int) -> None:
    shorter, longer = sorted((one, other))

    def made(length: float) -> LoopBand:
        on = [replace(edge, wire_resistance=0.0, wire_gauge=gauge, wire_length=length, lead=None)
              for edge in loop_of_two(joining)]
        return loop_band(on, ROUGH, COLD, WARM)

    assert room(made(longer)) <= room(made(shorter)) + 1e-9


@settings(max_examples=120, deadline=None)
@given(st.sampled_from(ALL), st.floats(1, 1e8), st.floats(1, 1e8), st.booleans(), st.integers(0, 1))
def test_more_leakage_never_raises_the_reading(
    case: tuple[Joining | None, bool], one: float, other: float, pressed: bool, where: int
) -> None:
    joining, opens = case
    worse, better = sorted((one, other))
    on = loop_of_two(joining, opens)
    k = where % len(on)

    def reads(leak: float) -> float:
        links = [Link(edge.name, 3.0, edge.termination, leak if j == k else None) for j, edge in enumerate(on)]
        contacts: list[float | None] = [120.0 if opens else None for _ in on]
        contacts[k] = None if opens and pressed else 120.0 if opens or pressed else None
        return Net(tuple(links), joining, opens).reads(contacts)

    assert reads(worse) <= reads(better) * (1 + 1e-12)
    assert code_of(reads(worse), 8_200.0, 12) <= code_of(reads(better), 8_200.0, 12)


# --- thresholds ---------------------------------------------------------------------------------------------------


def joined(joining: Joining, low: float, high: float) -> LoopBand:
    first = replace(EDGE, band_low=low, band_high=high, spread=None)
    second = replace(first, name="second", joined_to="edge", joining=joining)
    return at([first, second], replace(NODE, spread=None), -20.0, 60.0)


def test_a_band_of_the_number_configured_parts_all_states() -> None:
    assert joined(Joining.PARALLEL, 3_550, 5_500).overlaps == ()
    assert joined(Joining.SERIES, 14_400, 20_000).overlaps == ()
    assert joined(Joining.ONE_LEAD, 6_900, 9_800).overlaps == ()


def test_the_traps_are_named() -> None:
    """A broken branch under a band wide enough for one edge; a press in series above the lower end of such a band."""
    broken = joined(Joining.PARALLEL, 3_550, 9_800).overlaps
    assert len(broken) == 1
    assert broken[0].startswith("one branch broken, code ")
    assert "can read in the band" in broken[0]
    series = joined(Joining.SERIES, 6_900, 20_000)
    assert {one.shown for one in series.spreads if one.overlaps} == {Shown.PRESSED, Shown.WEAK, Shown.LEAKING}
    assert "pressed, code" in series.overlaps[0]


CROSSED = [
    ({"band_low": 2_000.0}, {Shown.WEAK, Shown.LEAKING}),
    ({"band_low": 8_000.0}, {Shown.AT_REST}),
    ({"band_high": 8_400.0}, {Shown.AT_REST}),
    ({"band_high": 6e6, "open_above": 2e7}, {Shown.OPEN}),
    ({"contact_resistance": 7_900.0, "band_low": 4_100.0}, {Shown.PRESSED, Shown.WEAK, Shown.LEAKING}),
]


@pytest.mark.parametrize(("changes", "over"), CROSSED, ids=[str(changes) for changes, _ in CROSSED])
def test_what_reaches_over_a_threshold_is_named(changes: dict[str, float], over: set[Shown]) -> None:
    made = at(replace(EDGE, spread=None, **changes), replace(NODE, spread=None), -20.0, 60.0)
    assert {one.shown for one in made.spreads if one.overlaps} == over
    assert {said.split(",")[0] for said in made.overlaps} == {shown.value for shown in over}
    assert all((one.margin <= 0) == one.overlaps for one in made.spreads)


def test_an_opening_loop_has_its_presses_above_the_band() -> None:
    made = at(replace(EDGE, strip=StripKind.OPENS, spread=None), replace(NODE, spread=None), -20.0, 60.0)
    assert made.overlaps == ()
    assert spread_of(made, Shown.PRESSED).lies == (Region.OPEN,)
    assert spread_of(made, Shown.SHORT).lies == spread_of(made, Shown.LEAKING).lies == (Region.BELOW,)
    assert made.bounds.contact is None
    wet = at(replace(EDGE, strip=StripKind.OPENS, lead=Lead(leakage=9_000.0), band_low=4_000.0), NODE)
    assert Shown.PRESSED in {one.shown for one in wet.spreads if one.overlaps}


def test_the_narrowest_band_holds_the_loop_at_rest_and_nothing_else() -> None:
    node = replace(NODE, spread=None)
    wide = at(replace(EDGE, spread=None), node, -20.0, 60.0)
    assert wide.narrowest is not None
    low, high = wide.narrowest
    narrow = at(replace(EDGE, spread=None, band_low=low, band_high=high), node, -20.0, 60.0)
    rest = spread_of(narrow, Shown.AT_REST)
    assert (narrow.band_low, narrow.band_high) == (rest.code.low - 1, rest.code.high + 1)
    assert narrow.overlaps == ()
    loose = replace(EDGE, spread=LoopSpread(0.2, aged_contact=40_000.0))
    assert at(loose, node, -20.0, 60.0).narrowest is None


# --- the whole site ------------------------------------------------------------------------------------------------


def test_a_site_has_a_band_for_each_loop_and_says_what_it_assumed() -> None:
    site = a_site()
    made = design(site)
    assert [loop.edges for loop in made.loops] == [(edge.name,) for edge in site.edges]
    assert made.warmest == 60.0
    assert any("warmest is not stated" in remark for remark in made.remarks)
    assert design(replace(site, warmest=35.0)).remarks == ()
    stray = replace(site, edges=(replace(site.edges[0], input="nowhere"), *site.edges[1:]))
    assert any("which the site does not have" in remark for remark in design(stray).remarks)


def test_the_design_as_json_and_as_text() -> None:
    made = design(a_site())
    said = json.loads(json.dumps(as_json(made)))
    assert said["format"] == FORMAT
    assert said["loops"][0]["spreads"][0]["shown"] == "short"
    assert said["overlaps"] == []
    text = band_text(made)
    assert all(len(line) <= 80 for line in text.splitlines())
    assert "No state reaches over a threshold" in text
    assert "Loop of front edge; front node" in text


def test_an_overlap_is_shown_in_words_and_in_the_drawing() -> None:
    site = a_site()
    made = design(replace(site, edges=(replace(site.edges[0], band_low=2_000.0), *site.edges[1:])))
    text = band_text(made)
    assert "OVERLAP, loop of" in text
    row = next(line for line in text.splitlines() if line.startswith("leaking") and "#" in line)
    marks = next(line for line in text.splitlines() if line.startswith("thresholds"))
    assert row.rindex("#") > marks.index("[")


def test_a_single_branch_is_no_loop_of_its_own() -> None:
    assert branch(Link("edge", 3.0, None, None), None) is None
