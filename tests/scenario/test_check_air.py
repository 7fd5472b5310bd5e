"""What a site says of the air agrees with itself, or each disagreement is told at its line with a remedy."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from gatesim.errors import Trouble
from gatesim.scenario.check_air import MOST_ENTRIES, loses_frames
from gatesim.scenario.check_site import check_site, warnings_of
from gatesim.scenario.strict import TreePath

Refusals = Callable[[Callable[[], object]], tuple[Trouble, ...]]

RADIO = """
    radio:
      frequency: 433.92 MHz
      transmit_power: -20 dBm
      sensitivity: -95 dBm
      transmitter_height: 1.2 m
      receiver_height: 3 m
      receiver_lies: closing
      receiver_along: 3 m
      receiver_aside: 1 m
      ground_reflection: 0 %
      obstacles:
        - {name: pillar, start: 0 m, end: 2 m, gap: 500 mm, from_receiver: 1.5 m}
        - {name: van, start: 2 m, end: 4.2 m, loss: 3 dB}
      interference:
        - {name: barrier next door, begins: 10 s, lasts: 1 s, takes: 6 dB, every: 20 s}
      losses:
        - {margin: 0 dB, loss: 60 %}
        - {margin: 10 dB, loss: 0 %}
"""
CLOCK = """
    clock:
      error: 20 ppm
      temperatures:
        - {at: -40 degC, error: 90 ppm}
        - {at: 25 degC, error: 0 ppm}
"""
BURSTS = """
    bursts:
      loss_in_bad: 80 %
      mean_good: 60 s
      mean_bad: 300 ms
"""
WHERE = "    loss: 1 %\n"
ALL = (WHERE, WHERE + RADIO.lstrip("\n") + CLOCK.lstrip("\n") + BURSTS.lstrip("\n"))

ERRORS = [
    ("transmitter_height: 1.2 m", "transmitter_height: 0 m", "transmitter_height is zero", "measure", "transmitter_h"),
    ("margin: 10 dB, loss: 0 %", "margin: 0 dB, loss: 1 %", "margins do not rise", "worst margin", "loss: 1 %}"),
    ("margin: 10 dB, loss: 0 %", "margin: 10 dB, loss: 70 %", "loses more frames", "falls", "loss: 70 %"),
    ("        - {margin: 10 dB, loss: 0 %}\n", "", "at least two points", "0 dB with 50 %", "margin: 0 dB"),
    ("gap: 500 mm, ", "", "0 of loss, height and gap", "exactly one", "name: pillar"),
    ("gap: 500 mm,", "gap: 500 mm, loss: 2 dB,", "2 of loss, height and gap", "exactly one", "name: pillar"),
    (", from_receiver: 1.5 m", "", "stands nowhere", "from_receiver", "name: pillar"),
    ("from_receiver: 1.5 m", "from_receiver: 15 m", "beyond the transmitter", "shorter", "name: pillar"),
    ("start: 0 m, end: 2 m", "start: 2 m, end: 2 m", "ends before it starts", "closed stop", "name: pillar"),
    ("start: 2 m, end: 4.2 m", "start: 4.2 m, end: 5 m", "beyond the travel", "4.2 m", "name: van"),
    ("loss: 3 dB", "loss: -3 dB", "strengthens", "zero or more", "name: van"),
    ("name: van", "name: pillar", "stands here again", "must differ", "loss: 3 dB"),
    ("every: 20 s", "every: 1 s", "until it comes again", "longer", "barrier"),
    ("lasts: 1 s", "lasts: 0 s", "lasts no time", "above zero", "barrier"),
    ("receiver_aside: 1 m", "receiver_aside: 0 m", "moves through the receiver", "measure", "receiver_aside"),
    ("{at: 25 degC, error: 0 ppm}", "{at: -40 degC, error: 0 ppm}", "do not rise", "cold to warm", "error: 0 ppm"),
    ("      mean_bad: 300 ms\n", "", "how bursts come and go", "mean_good and mean_bad", "loss_in_bad"),
    ("mean_bad: 300 ms", "good_to_bad: 1 %", "how bursts come and go", "not the others", "loss_in_bad"),
    ("mean_bad: 300 ms", "mean_bad: 0 s", "mean_bad is zero", "above zero", "mean_bad"),
    ("loss_in_bad: 80 %", "loss_in_bad: 0 %", "no more than the good", "larger", "loss_in_bad"),
    (WHERE, WHERE + "    radio_rule: own\n", "own_rule go together", "both, or neither", "radio_rule"),
    (WHERE, WHERE + "    radio_rule: own\n    own_rule: {source: a paper, air_time: 2 s, window: 1 s}\n",
     "does not fit into its window", "window the longer", "own_rule"),
    (WHERE, WHERE + "    radio_rule: 47 CFR 15.231(b)\n", "not one of", "legal are 47 CFR 15.231(a)", "15.231(b)"),
    ("frequency: 433.92 MHz", "frequency: 433.92", "needs a unit", "MHz", "frequency"),
    ("sensitivity: -95 dBm", "sensitivity: -95 dB", "a unit of gain, not of level", "dBm", "sensitivity"),
    ("error: 20 ppm", "error: 20 %", "out of range", "between -10 % and 10 %", "error: 20"),
    ("takes: 6 dB", "takes: 6 dBi", "not a unit", "did you mean dB?", "barrier"),
    ("receiver_lies: closing", "receiver_lies: left", "not one of", "closing", "receiver_lies"),
]


def test_a_receiver_has_no_cell(desk: Any, refusals: Refusals) -> None:
    clock = ("watchdog_at_rest", "clock: {error: 5 ppm, low_battery: 9 ppm}\n  watchdog_at_rest")
    made = refusals(lambda: desk.site(clock))
    assert [(one.message, one.line) for one in made] == [
        ("the receiver has no cell that could be low", desk.line(desk.site_file, "low_battery"))]


def air(desk: Any, *changes: tuple[str, str]) -> Any:
    """The example with a radio table whose receiver never lies in the way."""
    return desk.site(ALL, *changes)


@pytest.mark.parametrize(("old", "new", "said", "hint", "at"), ERRORS, ids=[row[2] + row[1][:12] for row in ERRORS])
def test_each_error_is_told_at_its_line(
    desk: Any, refusals: Refusals, old: str, new: str, said: str, hint: str, at: str
) -> None:
    # With nothing aside the receiver must lie on the way, to be in the way.
    more = (("receiver_lies: closing", "receiver_lies: opening"),) if "aside: 0" in new else ()
    made = refusals(lambda: air(desk, (old, new), *more))
    found = [trouble for trouble in made if said in trouble.message and hint in trouble.hint]
    assert found, [str(trouble) for trouble in made]
    assert found[0].line == desk.line(desk.site_file, at)


def test_a_sound_example_is_read_without_a_word(desk: Any) -> None:
    site = air(desk)
    assert warnings_of(site) == ()
    node = site.transmitters[0]
    assert node.radio is not None
    assert (node.radio.obstacles[0].name, node.radio.frequency) == ("pillar", 433.92e6)
    assert node.clock is not None
    assert node.clock.temperatures[0].error == 90e-6
    assert node.bursts is not None
    assert node.bursts.mean_bad == 300_000


WARNINGS = [
    (("loss: 3 dB", "loss: 30 dB"), "falls to", "move or raise"),
    (("loss: 3 dB", "loss: 40 dB"), "% of the frames of 'front sender' are lost", "better the path"),
    ((WHERE, WHERE + "    radio_rule: 47 CFR 15.231(e)\n"), "come more often than", "a period of at least 10.004 s"),
    ((WHERE, WHERE + "    radio_rule: 47 CFR 15.231(e)\n"), "repeats come sooner", "no repeats"),
    ((WHERE, WHERE + "    radio_rule: 47 CFR 15.231(a)\n    supervision_budget: 3 s\n"), "supervision_budget is larger",
     "at most 2 s an hour"),
    ((WHERE, WHERE + "    radio_rule: own\n    own_rule: {source: a paper, air_time: 1 ms, window: 60 s}\n"),
     "more often than the site's own", "a period of at least"),
]


@pytest.mark.parametrize(("change", "said", "hint"), WARNINGS, ids=[row[1] for row in WARNINGS])
def test_a_bad_setting_is_read_with_a_warning(desk: Any, change: tuple[str, str], said: str, hint: str) -> None:
    made = warnings_of(air(desk, change))
    assert any(said in one and hint in one for one in made), made


def test_a_frequency_outside_the_bands_of_its_rule_is_warned_of(desk: Any) -> None:
    rule = (WHERE, WHERE + "    radio_rule: 47 CFR 15.231(a)\n")
    assert warnings_of(air(desk, rule)) == ()
    assert "outside the bands" in warnings_of(desk.site(("433.92 MHz", "45 MHz")))[0]


def test_a_change_sent_for_too_long_is_warned_of(desk: Any) -> None:
    rule = (WHERE, WHERE + "    radio_rule: 47 CFR 15.231(a)\n")
    made = warnings_of(air(desk, rule, ("event_spacing: 15 ms", "event_spacing: 3 s")))
    assert any("sent for longer" in one and "within 5 s" in one for one in made), made


def test_the_watchdogs_bound_counts_clock_errors_and_jitter_that_adds_up(desk: Any) -> None:
    """The example: 2 x 400 + 20 + 2 ms; 110 ppm of 800 ms are 88 us, another 20 ms where lateness adds up."""
    watchdog = ("watchdog_in_motion: 1.3 s", "watchdog_in_motion: 822.088 ms")
    assert warnings_of(air(desk, watchdog)) == ()
    assert "at least 822088 us" in warnings_of(desk.site(("822.088 ms", "822.087 ms")))[0]
    adding = (WHERE, WHERE + "    jitter_reading: accumulating\n")
    assert "at least 842088 us" in warnings_of(desk.site(adding))[0]
    slow = ("watchdog_at_rest", "clock: {error: -1000 ppm}\n  watchdog_at_rest")
    assert "at least 842931 us" in warnings_of(desk.site(slow))[0]


def test_absurd_numbers_of_obstacles_are_refused(desk: Any) -> None:
    site = air(desk)
    node = site.transmitters[0]
    assert node.radio is not None
    many = tuple(replace(node.radio.obstacles[1], name=f"van {k}", loss=0.0) for k in range(MOST_ENTRIES + 1))

    def complaints(count: int) -> list[TreePath]:
        crowded = replace(node, radio=replace(node.radio, obstacles=many[:count]))
        return [made.path for made in check_site(replace(site, transmitters=(crowded,)))]

    assert complaints(MOST_ENTRIES) == []
    assert complaints(MOST_ENTRIES + 1) == [("transmitters", 0, "radio", "obstacles", MOST_ENTRIES)]


def test_whether_frames_can_be_lost(desk: Any) -> None:
    lossless = ("loss: 1 %\n", "loss: 0 %\n")
    bare = desk.site(lossless)
    assert not loses_frames(bare, bare.transmitters[0])


def test_frames_can_be_lost_by_interference_by_bursts_or_by_a_poor_margin(desk: Any) -> None:
    site = air(desk)
    node = replace(site.transmitters[0], loss=0.0)
    assert node.radio is not None
    quiet = replace(node.radio, interference=())
    assert not loses_frames(site, replace(node, bursts=None, radio=quiet))
    assert loses_frames(site, replace(node, radio=None))
    assert loses_frames(site, replace(node, bursts=None))
    assert loses_frames(site, replace(node, bursts=None, radio=replace(quiet, transmit_power=-60.0)))
