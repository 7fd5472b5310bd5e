"""A site agrees with itself, or each disagreement is told at its line with a remedy."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any

import pytest

from gatesim.errors import Trouble
from gatesim.plant.edges.converter import code_of
from gatesim.scenario.check_site import MOST_ENTRIES, check_site, warnings_of

Refusals = Callable[[Callable[[], object]], tuple[Trouble, ...]]

ERRORS = [
    ("start: 0 mm, end: 4 m", "start: 4 m, end: 4 m", "ends before it starts", "closed stop", "closing gap, dir"),
    ("start: 0 mm, end: 4 m", "start: 0 mm, end: 5 m", "beyond the travel", "travel is 4.2 m", "closing gap, dir"),
    ("  - {name: draw-in post", "  - {name: closing gap", "stands here again", "must differ", "start: 0.5 m"),
    ("- name: post edge", "- name: board input", "stands here again", "must differ", "board input, sampling"),
    ("- name: post edge", "- name: post.edge", "can't be a name", "point", "post.edge"),
    ("zone: closing gap", "zone: closing gab", "no zone", "did you mean 'closing gap'?", "gab"),
    ("input: front sender", "input: front sendr", "no transmitter or wired", "'front sender'?", "sendr"),
    ("lightest: 300 kg", "lightest: 330 kg", "heavier than mass", "at most", "lightest"),
    ("heaviest: 380 kg", "heaviest: 310 kg", "lighter than mass", "at least", "heaviest"),
    ("coldest: -15 degC", "leaf_at: 5 m", "beyond its travel", "4.2 m", "leaf_at"),
    ("speed_closing: 0.2 m/s", "speed_closing: 0 m/s", "is zero", "above zero", "speed_closing"),
    ("slow_speed: 0.08 m/s", "slow_speed: 0.21 m/s", "above a travel speed", "must not", "slow_speed"),
    ("slow_zone: 400 mm", "slow_zone: 2.1 m", "no travel between", "less than half", "slow_zone"),
    ("force_limit: 300 N", "force_limit: 901 N", "never be reached", "stall_force", "force_limit"),
    ("limit_lead: 5 mm", "limit_lead: 0 mm", "is zero", "above", "limit_lead"),
    ("limit_lead: 5 mm", "limit_lead: 2.1 m", "both limit switches", "shorter", "limit_lead"),
    ("blind_at_end: 20 mm", "blind_at_end: 5 m", "blind for the whole", "shorter", "blind_at_end"),
    ("acceleration: 0.4 m/s2", "acceleration: 0 m/s2", "is zero", "above", "  acceleration"),
    ("band_low: 6 kohm", "band_low: 8.21 kohm", "below the band", "below termination", "8.21"),
    ("band_high: 11 kohm", "band_high: 8.1 kohm", "above the band", "above termination", "band_high: 8.1"),
    ("open_above: 40 kohm", "open_above: 11 kohm", "not above band_high", "larger", "open_above: 11"),
    ("band_low: 6 kohm", "band_low: 140 ohm", "not below the band", "never seen", "band_low: 140"),
    ("band_low: 6 kohm", "band_low: 150 ohm", "same code", "converter_bits", "band_low: 150"),
    ("open_above: 40 kohm", "open_above: 11.01 kohm", "same code", "pull_up", "11.01"),
    ("full_force: 420 N", "full_force: 60 N", "not above actuating", "larger", "full_force: 60"),
    ("overtravel: 45 mm", "overtravel: 0 mm", "is zero", "above", "overtravel: 0"),
    ("length: 1.6 m", "length: 40 mm", "end holes", "shorter", "- name: front edge"),
    ("sampling: 10 ms", "sampling: 0 ms", "is zero", "above", "sampling: 0"),
    ("event_spacing: 15 ms", "event_spacing: 0 ms", "no spacing", "air_time", "event_spacing"),
    ("event_spacing: 15 ms", "event_spacing: 1 ms", "overlap", "air_time", "event_spacing"),
    ("checkin_jitter: 20 ms", "checkin_jitter: 400 ms", "later than the next", "shorter", "checkin_jitter"),
    ("burst_length: 5 ms", "burst_length: 1 ms", "before the frame", "air_time", "burst_length"),
    ("latency: 6 ms", "latency: 1 ms", "before it ends", "includes", "latency: 1 ms"),
    ("loss: 1 %", "loss: 100 %", "every frame", "fault step", "loss"),
    ("low_voltage: 2.8 V", "low_voltage: 2.5 V", "not above critical", "order", "low_voltage"),
    ("critical_voltage: 2.6 V", "critical_voltage: 2.3 V", "not above dead", "order", "critical_voltage"),
    ("open_voltage: 3.2 V", "open_voltage: 2.8 V", "not above low", "order", "open_voltage"),
    ("end_voltage: 2.2 V", "end_voltage: 3.2 V", "does not fall", "below", "end_voltage"),
    ("pairs: [front sender]", "pairs: [front sendr]", "no transmitter", "'front sender'?", "pairs"),
    ("pairs: [front sender]", "pairs: [front sender, front sender]", "paired twice", "once", "pairs"),
    ("pairs: [front sender]", "pairs: []", "not paired", "list it", "- name: front sender"),
    ("watchdog_in_motion: 1.3 s", "watchdog_in_motion: 399 ms", "before the next check-in", "0.4 s", "in_motion: 399"),
    ("watchdog_at_rest: 65 s", "watchdog_at_rest: 19 s", "before the next check-in", "20 s", "at_rest: 19"),
    ("reversal_distance: 300 mm", "reversal_distance: 0 mm", "is zero", "above", "reversal_distance"),
    ("reversal_distance: 300 mm", "reversal_distance: 5 m", "longer than the travel", "4.2 m", "reversal_distance"),
    ("requirement: reversal-begun", "requirement: reversl-begun", "no requirement", "'reversal-begun'?", "reversl"),
    ("limit: 1.5 s", "limit: 1.5 V", "a unit of voltage", "a duration", "1.5 V"),
    ("debounce: 2", "debounce: 0", "out of range", "between 1", "debounce: 0"),
    ("kind: sliding", "kind: slidng", "not one of", "did you mean 'sliding'?", "slidng"),
    ("direction: closing", "direction: clsing", "not one of", "'closing'?", "clsing"),
    ("end: 4 m}", "end: 4 m, force_sensing: yes}", "neither true nor false", "", "force_sensing"),
]


@pytest.mark.parametrize(("old", "new", "said", "hint", "at"), ERRORS, ids=[row[1][:40] for row in ERRORS])
def test_each_error_is_told_at_its_line(
    desk: Any, refusals: Refusals, old: str, new: str, said: str, hint: str, at: str
) -> None:
    made = refusals(lambda: desk.site((old, new)))
    found = [trouble for trouble in made if said in trouble.message and hint in trouble.hint]
    assert found, [str(trouble) for trouble in made]
    assert found[0].line == desk.line(desk.site_file, at)


BARE = "{name: bare, direction: opening, start: 0 m, end: 1 m, force_sensing: false}"
WARNINGS = [
    ("watchdog_in_motion: 1.3 s", "watchdog_in_motion: 821 ms", "one lost frame in motion", "at least 822 ms"),
    ("automatic_closing: 30 s", "automatic_closing: 30 s\n  closing_warning: 0 s", "without warning", "16 CFR"),
    ("automatic_closing: 30 s", "start_limit: 80 ms", "every start", "80 ms"),
    ("automatic_closing: 30 s", "travel_time_closing: 20 s", "full travel", "21 s"),
    ("end: 4.2 m}", f"end: 4.2 m}}\n  - {BARE}", "'bare' is guarded by nothing", "fit an edge"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "said", "hint"), WARNINGS, ids=lambda x: str(x)[:30])
def test_a_bad_setting_is_read_with_a_warning(desk: Any, old: str, new: str, said: str, hint: str) -> None:
    assert warnings_of(desk.site()) == ()
    made = warnings_of(desk.site((old, new)))
    assert len(made) == 1
    assert said in made[0]
    assert hint in made[0]


def test_the_nuisance_bound_holds_at_its_very_end(desk: Any) -> None:
    """T >= 2P + J + D with one lost frame: 2 x 400 + 20 + 2 ms."""
    assert warnings_of(desk.site(("watchdog_in_motion: 1.3 s", "watchdog_in_motion: 822 ms"))) == ()
    assert warnings_of(desk.site(("822 ms", "400 ms")))
    no_loss = ("loss: 1 %", "loss: 0 %")
    assert warnings_of(desk.site(("watchdog_in_motion: 400 ms", "watchdog_in_motion: 422 ms"), no_loss)) == ()
    assert "a late frame" in warnings_of(desk.site(("422 ms", "421 ms")))[0]


def test_absurd_numbers_of_entries_are_refused(desk: Any) -> None:
    site = desk.site()
    many = tuple(dataclasses.replace(site.edges[0], name=f"edge {k}") for k in range(MOST_ENTRIES + 1))
    made = check_site(dataclasses.replace(site, edges=many))
    assert [complaint.path for complaint in made] == [("edges", MOST_ENTRIES)]
    assert not check_site(dataclasses.replace(site, edges=many[:-1]))


def test_a_site_needs_a_zone_and_a_receiver_for_its_transmitters(desk: Any) -> None:
    site = desk.site()
    assert ("receiver",) in {made.path for made in check_site(dataclasses.replace(site, receiver=None))}
    assert ("zones",) in {made.path for made in check_site(dataclasses.replace(site, zones=()))}
    twin = dataclasses.replace(site.transmitters[0], name="twin")
    made = check_site(dataclasses.replace(site, transmitters=(*site.transmitters, twin)))
    assert ("transmitters", 1, "identity") in {complaint.path for complaint in made}


def test_automatic_closing_needs_a_guard(desk: Any) -> None:
    site = desk.site()
    opening_only = dataclasses.replace(site, zones=site.zones[1:], edges=site.edges[1:])
    assert ("controller", "automatic_closing") in {made.path for made in check_site(opening_only)}


@pytest.mark.parametrize(("ohm", "code"), [(0.0, 0), (8_200.0, 512), (150.0, 18), (1e9, 1023)])
def test_the_converters_code_follows_the_timing_page(ohm: float, code: int) -> None:
    """floor(1023 R / (R + 8200) + 0.5), by hand."""
    assert code_of(ohm, 8_200.0, 10) == code
