"""Loops that can't be, or that read as something else than they are, are told at their line with a remedy."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from gatesim.errors import Trouble
from gatesim.scenario.check_site import warnings_of

Refusals = Callable[[Callable[[], object]], tuple[Trouble, ...]]

TWIN = """\
  - name: lower edge
    zone: {zone}
    input: {input}
    termination: {termination}
    band_low: {low}
    band_high: {high}
    open_above: 40 kohm
    wire_resistance: 1 ohm
    contact_resistance: 150 ohm
    length: 1.6 m
    actuating_travel: 8 mm
    actuating_force: 60 N
    overtravel: 45 mm
    full_force: 420 N
    joined_to: {to}
    joining: {joining}
    strip: {strip}
"""
USUAL = {"zone": "closing gap", "input": "front sender", "termination": "8.2 kohm", "to": "front edge",
         "strip": "closes when pressed"}
FRONT = "band_low: 6 kohm\n    band_high: 11 kohm"
JOINS = {"one lead": ("6 kohm", "11 kohm"), "in series": ("12 kohm", "22 kohm"), "in parallel": ("3 kohm", "6 kohm")}


Changes = tuple[tuple[str, str], ...]


def with_twin(joining: str, low: str | None = None, high: str | None = None, **other: str) -> Changes:
    """The changes that join a second edge to the front edge, the band of both edges with it."""
    low, high = low or JOINS[joining][0], high or JOINS[joining][1]
    front = f"band_low: {low}\n    band_high: {high}"
    twin = TWIN.format(**{**USUAL, "low": low, "high": high, "joining": joining, **other})
    return ((FRONT, front), ("transmitters:\n", twin + "transmitters:\n"))


def found(made: tuple[Trouble, ...], said: str, hint: str) -> Trouble:
    matching = [trouble for trouble in made if said in trouble.message and hint in trouble.hint]
    assert matching, [str(trouble) for trouble in made]
    return matching[0]


@pytest.mark.parametrize("joining", JOINS)
def test_two_edges_on_one_loop_are_read_without_complaint(desk: Any, joining: str) -> None:
    site = desk.site(*with_twin(joining))
    assert warnings_of(site) == ()
    assert [edge.joined_to for edge in site.edges] == [None, None, "front edge"]


JOINED = [
    ("one lead", {"to": "frnt edge"}, "no other edge", "did you mean 'front edge'?", "joined_to"),
    ("one lead", {"to": "lower edge"}, "no other edge", "front edge", "joined_to"),
    ("one lead", {"input": "board input"}, "the loop that it shares hangs on 'front sender'", "one input",
     "input: board input\n    termination: 8.2 kohm"),
    ("one lead", {"termination": "10 kohm"}, "termination is not that", "at the very end: 8200 ohm", "termination: 10"),
    ("one lead", {"strip": "opens when pressed"}, "one strip of the loop opens", "of its own", "strip: opens"),
    ("in parallel", {"strip": "opens when pressed"}, "one strip of the loop opens", "of its own", "strip: opens"),
]  # fmt: skip


@pytest.mark.parametrize(("joining", "other", "said", "hint", "at"), JOINED, ids=lambda x: str(x)[:30])
def test_an_edge_that_can_not_be_joined_so(
    desk: Any, refusals: Refusals, joining: str, other: dict[str, str], said: str, hint: str, at: str
) -> None:
    trouble = found(refusals(lambda: desk.site(*with_twin(joining, **other))), said, hint)
    text = desk.site_file.read_text()
    assert trouble.line == text[: text.rindex(at)].count("\n") + 1


def test_strips_that_open_do_not_go_side_by_side(desk: Any, refusals: Refusals) -> None:
    changes = with_twin("in parallel", strip="opens when pressed")
    opens = ("full_force: 420 N\n", "full_force: 420 N\n    strip: opens when pressed\n")
    made = refusals(lambda: desk.site(opens, *changes))
    assert found(made, "resistors of their own", "one lead").line == desk.line(desk.site_file, "joining: in parallel")


def test_a_chain_of_joined_edges_names_the_one_with_the_loop(desk: Any, refusals: Refusals) -> None:
    first = with_twin("in parallel")
    second = TWIN.format(**{**USUAL, "low": "3 kohm", "high": "6 kohm", "joining": "in parallel", "to": "lower edge"})
    second = second.replace("name: lower edge", "name: third edge")
    made = refusals(lambda: desk.site(*first, ("transmitters:\n", second + "transmitters:\n")))
    found(made, "'lower edge' is joined to another edge itself", "'front edge'")


def test_joined_in_different_ways(desk: Any, refusals: Refusals) -> None:
    first = with_twin("in parallel")
    second = TWIN.format(**{**USUAL, "low": "3 kohm", "high": "6 kohm", "joining": "in series"})
    second = second.replace("name: lower edge", "name: third edge")
    made = refusals(lambda: desk.site(*first, ("transmitters:\n", second + "transmitters:\n")))
    found(made, "joined in different ways", "choose one")


def test_joined_to_nothing(desk: Any, refusals: Refusals) -> None:
    made = refusals(lambda: desk.site(("wire_gauge: 22", "joining: one lead")))
    found(made, "joined to no other", "joined_to")


def test_how_it_is_joined_must_be_said(desk: Any, refusals: Refusals) -> None:
    made = refusals(lambda: desk.site(*with_twin("one lead"), ("    joining: one lead\n", "")))
    found(made, "how it is joined is not said", "state joining")


def test_one_loop_has_one_band(desk: Any, refusals: Refusals) -> None:
    made = refusals(lambda: desk.site(*with_twin("one lead")[1:], ("band_high: 11 kohm", "band_high: 10 kohm")))
    found(made, "band_high is not that of the loop it shares", "one loop has one band: 10000 ohm")


@pytest.mark.parametrize(("joining", "reads", "where"), [
    ("in parallel", "4100.75", "below"), ("in series", "16403", "above"),
])
def test_a_band_for_one_edge_does_not_hold_two(
    desk: Any, refusals: Refusals, joining: str, reads: str, where: str
) -> None:
    """8.2 kohm and its lead of 2 or 1 ohm: side by side 4100.75 ohm, one after the other 16403 ohm."""
    made = refusals(lambda: desk.site(*with_twin(joining, "6 kohm", "11 kohm")))
    trouble = found(made, f"the loop of 2 edges {joining} has", "the number configured")
    assert f"{where} the band" in trouble.message
    assert f"has {reads} ohm" in trouble.message


def test_a_broken_branch_that_reads_as_one_healthy_edge_is_a_warning(desk: Any) -> None:
    made = warnings_of(desk.site(*with_twin("in parallel", "3 kohm", "11 kohm")))
    assert len(made) == 2
    assert "with the wire of 'front edge' broken the loop has 8201 ohm, inside the band" in made[0]
    assert "the number configured" in made[0]


def test_a_press_in_series_that_reads_as_one_healthy_edge_is_a_warning(desk: Any) -> None:
    made = warnings_of(desk.site(*with_twin("in series", "6 kohm", "22 kohm")))
    assert len(made) == 2
    assert "pressed alone, 'front edge' leaves the loop at 8350.31 ohm, inside the band" in made[0]


def test_a_loop_of_both_directions_is_a_warning(desk: Any) -> None:
    made = warnings_of(desk.site(*with_twin("one lead", zone="draw-in post")))
    assert len(made) == 1
    assert "guards the other direction" in made[0]
    assert "a loop of its own" in made[0]


def test_an_opening_strip_must_leave_the_band(desk: Any, refusals: Refusals) -> None:
    """The leakage beside an open strip is all that is left: 9 kohm is in the band."""
    opens = ("full_force: 420 N\n", "full_force: 420 N\n    strip: opens when pressed\n    lead: {leakage: 9 kohm}\n")
    made = refusals(lambda: desk.site(opens, ("band_low: 6 kohm", "band_low: 4 kohm")))
    found(made, "pressed the loop has 9002 ohm, not above the band", "never seen")


LOOPS = [
    (("band_low: 6 kohm", "band_low: 12 kohm"), "upside down", "band_low < band_high", "band_low: 12"),
    (("wire_length: 3 m", "wire_length: 3 m\n    lead: {area: 0.5 mm2}"), "AWG number 22 as well", "keep one", "area"),
    (("wire_length: 3 m\n    wire_gauge: 22", "lead: {area: 0.5 mm2}"), "no length", "wire_length", "area"),
    (("wire_gauge: 22", "lead: {area: 0 mm2}"), "area is zero", "above", "area"),
    (("wire_gauge: 22", "lead: {joints: 3}"), "3 joints have no resistance", "joint_resistance", "joints"),
    (("wire_gauge: 22", "lead: {leakage: 0 ohm}"), "leakage is zero", "above", "leakage"),
    (("wire_gauge: 22", "lead: {leakage_length: 1 km}"), "not a unit", "legal", "leakage_length"),
    (("wire_gauge: 22", "lead: {leakage_length: 100 m}"), "no leakage", "state leakage", "leakage_length"),
    (("wire_length: 3 m\n    wire_gauge: 22", "lead: {leakage: 1 Mohm, leakage_length: 100 m}"), "lead has no length",
     "wire_length", "leakage_length"),
    (("wire_gauge: 22", "lead: {leakage: 1 Mohm, leakage_length: 0 m}"), "leakage_length is zero", "above",
     "leakage_length"),
    (("coldest: -15 degC", "coldest: -15 degC\nwarmest: -16 degC"), "warmest is below coldest", "-15", "warmest"),
    (("monitoring: continuously", "monitoring: continuously, spread: {reference: 0 V}"), "reference is zero", "above",
     "board input, sampling"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "said", "hint", "at"), LOOPS, ids=lambda x: str(x)[:40])
def test_each_error_of_a_loop_is_told_at_its_line(
    desk: Any, refusals: Refusals, change: tuple[str, str], said: str, hint: str, at: str
) -> None:
    trouble = found(refusals(lambda: desk.site(change)), said, hint)
    assert trouble.line == desk.line(desk.site_file, at)


def test_a_resistor_outside_the_useful_range_is_refused(desk: Any, refusals: Refusals) -> None:
    """At 150 ohm one of 1023 codes is (150 + 8200)^2 / (8200 x 1023) = 8.3 ohm, of 152 ohm with the lead 5 %."""
    changes = (("termination: 8.2 kohm", "termination: 150 ohm"), ("band_low: 6 kohm", "band_low: 100 ohm"),
               ("band_high: 11 kohm", "band_high: 200 ohm"), ("resistance: 150 ohm", "resistance: 5 ohm"))
    trouble = found(refusals(lambda: desk.site(*changes)), "one code is 5 % of that", "pull_up of 'front sender'")
    assert "outside the converter's useful range" in trouble.message
    assert trouble.line == desk.line(desk.site_file, "termination: 150")
    finer = (("checkin_at_rest: 20 s", "checkin_at_rest: 20 s\n    converter_bits: 12"),)
    assert desk.site(*finer).edges[0].termination == 150


def test_a_gauge_without_a_figure_is_refused_only_where_it_is_needed(desk: Any, refusals: Refusals) -> None:
    assert warnings_of(desk.site(("wire_gauge: 22", "wire_gauge: 23"))) == ()
    made = refusals(lambda: desk.site(("wire_resistance: 2 ohm", "wire_resistance: 0 ohm")))
    found(made, "no resistance is known of AWG 23", "12, 14, 16")
