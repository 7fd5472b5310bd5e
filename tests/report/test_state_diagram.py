"""Pictures of a controller's table: everything is in them, nothing covers anything, and no text breaks them."""

from __future__ import annotations

import re
from enum import Enum
from itertools import combinations
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import settings as at_most
from hypothesis import strategies as st

from gatesim.plant.fsm import Row, Table
from gatesim.plant.logic.controller_table import TABLE, Mode, Trigger
from gatesim.report.state_layout import BOX, WAYPOINT, lay_out
from gatesim.report.state_marks import Marks, Use, lines_of
from gatesim.report.state_mermaid import mermaid
from gatesim.report.state_svg import svg

SVG = "{http://www.w3.org/2000/svg}"
PLAIN = Marks("States")
HOSTILE = '<img onerror="x">&amp;]]></script>\x1b[31m\u202e; s0 --> s1: %%\n"end"'


def row(mode: Mode, trigger: Trigger) -> int:
    return next(k for k, one in enumerate(TABLE.rows) if (one.mode, one.trigger) == (mode, trigger))


def texts(page: str) -> list[str]:
    return [each.text or "" for each in ET.fromstring(page).iter(f"{SVG}text")]


def test_every_state_and_every_transition_is_in_the_picture() -> None:
    said = texts(svg(TABLE, PLAIN))
    assert all(str(mode.value) in said for mode in Mode)
    number = {place: k for k, line in enumerate(lines_of(TABLE), 1) for place in line.rows}
    entries = {re.sub(r"^\d+: ", "", text) for text in said}
    for place, one in enumerate(TABLE.rows):
        guards = " and ".join(guard.value for guard in one.guards)
        words = f"{one.trigger.value} [{guards}]" if guards else one.trigger.value
        target = "stays" if one.target is one.mode else f"→ {one.target.value}"
        assert f"{words} {target}" in entries
        assert (place in number) == (one.target is not one.mode)
    assert {str(k) for k in number.values()} <= set(said)


def test_what_is_never_exercised_and_the_path_are_told_in_words_too() -> None:
    path = (row(Mode.REST, Trigger.PAIR), row(Mode.PAIRING, Trigger.PAIR))
    marks = Marks("States", used=frozenset({row(Mode.REST, Trigger.STOP)}), scenarios=3, path=path, run="x.yaml")
    page = svg(TABLE, marks)
    said = texts(page)
    assert "▶, thick: the path of x.yaml." in said
    assert any(text.startswith("▶ ") and text.endswith("(step 1)") for text in said)
    assert "● stop command stays" in said
    assert "○ supervision fault stays (never exercised)" in said
    assert sum(text.endswith("(never exercised)") for text in said) == len(TABLE.rows) - 3
    kinds = [each.get("class") for each in ET.fromstring(page).iter(f"{SVG}g")]
    assert kinds.count("arrow path") == 2
    assert kinds.count("state path") == 2
    assert kinds.count("state never") == len(Mode) - 2


def test_without_scenarios_nothing_is_called_never() -> None:
    assert "never" not in "".join(texts(svg(TABLE, PLAIN)))
    assert "never" not in mermaid(TABLE, PLAIN)
    assert PLAIN.use(0) is Use.UNKNOWN


def test_a_trigger_that_most_states_share_is_one_arrow() -> None:
    shared = [line for line in lines_of(TABLE) if line.source is None]
    assert [(line.target, len(line.rows)) for line in shared] == [(Mode.DRIVE_LOCKOUT, 16)]
    placed = [place for line in lines_of(TABLE) for place in line.rows]
    assert sorted(placed) == [k for k, one in enumerate(TABLE.rows) if one.mode is not one.target]


def test_mermaid_has_every_transition_between_states() -> None:
    marks = Marks("States", used=frozenset(), scenarios=1, path=(row(Mode.REST, Trigger.PAIR),))
    text = mermaid(TABLE, marks)
    assert text.splitlines()[1] == "stateDiagram-v2"
    arrows = re.findall(r"^    (s\d+|any\d+) --> (s\d+): ", text, re.MULTILINE)
    many = sum(one.mode is not one.target for one in TABLE.rows) - 16 + 1
    assert len(arrows) == many
    assert "pairing command (step 1)" in text
    assert "drive fault (never exercised)" in text
    assert re.search(r"^    class s0,s17 path$", text, re.MULTILINE)


def hostile_table() -> Table[Any, Any, Any, Any]:
    modes = Enum("modes", {"A": HOSTILE, "end": "end"})
    triggers = Enum("triggers", {"T": HOSTILE + "2"})
    return Table(modes, triggers, modes["A"], [Row(modes["A"], triggers["T"], (), modes["end"], ())],
                 [(modes["end"], triggers["T"])])


def test_hostile_names_break_nothing() -> None:
    page = svg(hostile_table(), Marks(HOSTILE))
    said = texts(page)
    assert any("<img" in text for text in said)
    assert "<img" not in page
    assert "\x1b" not in page
    assert "\u202e" not in page
    text = mermaid(hostile_table(), Marks(HOSTILE))
    assert len(text.splitlines()) == 6
    assert not {"<", "&", "\x1b", "\u202e", '"end"'} & set(text)
    assert text.count("-->") == 2


def test_the_same_table_gives_the_same_bytes() -> None:
    assert svg(TABLE, PLAIN) == svg(TABLE, PLAIN)


@st.composite
def graphs(draw: Any) -> tuple[list[float], list[tuple[int, int]]]:
    count = draw(st.integers(2, 9))
    widths = draw(st.lists(st.floats(30, 240), min_size=count, max_size=count))
    pairs = st.tuples(st.integers(0, count - 1), st.integers(0, count - 1)).filter(lambda pair: pair[0] != pair[1])
    return widths, draw(st.lists(pairs, max_size=20, unique=True))


@at_most(max_examples=80)
@given(graph=graphs())
def test_boxes_and_numbers_never_cover_one_another(graph: tuple[list[float], list[tuple[int, int]]]) -> None:
    widths, arrows = graph
    laid = lay_out(widths, 0, arrows)
    boxes = [(place, width / 2, BOX / 2) for place, width in zip(laid.states, widths, strict=True)]
    numbers = [(place, WAYPOINT / 2, WAYPOINT / 2) for _, place in laid.arrows]
    for (a, wide_a, high_a), (b, wide_b, high_b) in combinations([*boxes, *numbers], 2):
        assert abs(a.x - b.x) >= wide_a + wide_b - 0.2 or abs(a.y - b.y) >= high_a + high_b - 0.2
    for (points, _), (source, target) in zip(laid.arrows, arrows, strict=True):
        for point, state in ((points[0], source), (points[-1], target)):
            assert abs(point.x - laid.states[state].x) <= widths[state] / 2
            assert abs(point.y - laid.states[state].y) == pytest.approx(BOX / 2)
        for point in points[1:-1]:
            assert not any(abs(point.x - box.x) < wide and abs(point.y - box.y) < high for box, wide, high in boxes)
    for place, wide, high in boxes:
        assert wide <= place.x <= laid.width - wide
        assert high <= place.y <= laid.height - high
