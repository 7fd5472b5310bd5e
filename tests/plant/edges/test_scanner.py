"""Scanning on change equals scanning every sample."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from gatesim.events import Level, LevelChanged
from gatesim.plant import transmitter, wired_input, wires
from gatesim.plant.edges.scanner import scanner_of
from gatesim.plant.grid import first_index, made_by
from gatesim.plant.logic.classifier_reference import ReferenceClassifier
from gatesim.plant.logic.contract import ClassifierSeen
from gatesim.plant.wires import Code, ScanClock, StripPressed
from gatesim.plant.world import Plant

sys.path.insert(0, str(Path(__file__).parent.parent))

from edge_bench import EDGE, MS, NODE, Lever, Run, S, Set, begins, ends, pull, roles, site, wired_site

CODES = st.sampled_from([512, 510, 13, 800, 1023, -1, 5000])


@given(st.integers(0, 10**6), st.integers(0, 5000), st.integers(1, 5000))
def test_first_index_is_the_first(t: int, phase: int, period: int) -> None:
    n = first_index(t, phase, period)
    assert phase + n * period >= t
    assert n == 0 or phase + (n - 1) * period < t
    assert made_by(t, phase, period) == sum(1 for k in range(n + 2) if phase + k * period <= t)


@given(st.floats(0, 1e15), st.integers(0, 10**6), st.integers(1, 10**7))
def test_first_index_of_unrounded_instants(t: float, phase: int, period: int) -> None:
    n = first_index(t, phase, period)
    assert phase + n * period >= t
    assert n == 0 or phase + (n - 1) * period < t


def brute(changes: list[tuple[int, int]], until: int, debounce: int, fault_debounce: int, chatter: int) -> list[Any]:
    """Every sample asked, by the same logic: what the levels become, and when."""
    node = replace(NODE, debounce=debounce, fault_debounce=fault_debounce, chatter_limit=chatter)
    scanner = scanner_of(node, [EDGE], None, None, ReferenceClassifier())
    state, do = scanner.classifier.start(scanner.settings, None)
    said, levels, number, t = [], do.levels, 0, node.sampling_phase
    while t <= until:
        number += 1
        code = [512, *[code for at, code in changes if at <= t]][-1]
        state, do = scanner.classifier.step(state, ClassifierSeen((code,), 512, number, None), t)
        if do.levels != levels:
            said.append((t, LevelChanged("edge", do.levels[0])))
        levels = do.levels
        t += node.sampling
    return said


def wired_levels(changes: list[tuple[int, int]], until: int, **node: int) -> tuple[list[Any], int]:
    table = wired_site(**node)
    made = [Lever(wires.Supply(), True), Lever(wires.Ask(), 0), Lever(Code("edge"), 512),
            Lever(wires.ReferenceCode("in"), 512), *wired_input.parts(table, roles())]
    run = Run(Plant(made))
    for at, code in changes:
        run.at(at, pull(Code("edge"), code))
    run.at(until)
    return run.all(LevelChanged), run.instants


@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 400), CODES), max_size=40), st.integers(1, 4), st.integers(1, 6),
       st.integers(4, 14))
def test_scanning_on_change_equals_scanning_every_sample(
    raw: list[tuple[int, int]], debounce: int, fault_debounce: int, chatter: int
) -> None:
    changes = sorted({at: (at * 1000, code) for at, code in raw}.values())
    node = {"debounce": debounce, "fault_debounce": fault_debounce, "chatter_limit": chatter}
    assert wired_levels(changes, 500 * MS, **node)[0] == brute(changes, 500 * MS, debounce, fault_debounce, chatter)


def test_nothing_is_scanned_while_nothing_changes() -> None:
    assert wired_levels([], 3600 * S)[1] <= 3


def test_change_exactly_at_a_scan_is_seen_by_it() -> None:
    assert wired_levels([(53 * MS, 13)], 90 * MS)[0][1:] == [(63 * MS, LevelChanged("edge", Level.PRESSED))]
    assert wired_levels([(53 * MS + 1, 13)], 90 * MS)[0][1:] == [(73 * MS, LevelChanged("edge", Level.PRESSED))]


def test_contact_between_two_scans_is_not_seen() -> None:
    assert wired_levels([(54 * MS, 13), (62 * MS, 512)], 200 * MS)[0] == [(3 * MS, LevelChanged("edge", Level.REST))]


def test_stopped_scans_freeze_the_number_and_see_nothing() -> None:
    table = site()
    run = Run(table).at(0).at(53 * MS, begins(Set(False), ScanClock("tx")))
    part = next(part for part in run.plant.parts if type(part) is transmitter.TransmitterPart)
    scan = run.state("tx", transmitter.TransmitterPart).scan
    assert part.scanner.sent(scan, 53 * MS) == 5  # 3, 13, 23, 33, 43 ms
    run.at(60 * MS, pull(StripPressed("edge"), True)).at(200 * MS)
    assert part.scanner.sent(scan, 200 * MS) == 5
    assert run.all(LevelChanged)[1:] == []
    run.at(203 * MS, ends()).at(300 * MS)
    assert run.all(LevelChanged)[1:] == [(213 * MS, LevelChanged("edge", Level.PRESSED))]
    assert part.scanner.sent(scan, 213 * MS) == 7
