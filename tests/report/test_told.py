"""Events as lines of words and rounded figures, and golden traces both ways."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gatesim import events as e
from gatesim.errors import BadInput
from gatesim.report.told import Golden, Told, figure, golden_of, read, told, written
from gatesim.trace import Foreign, Run, Section


@pytest.mark.parametrize(
    ("event", "said"),
    [
        (e.LeafStopped(12_345.6), "LeafStopped x=12.346mm"),
        (e.LeafStopped(-50.0, e.LeafName.SECOND), "LeafStopped leaf=second x=-0.05mm"),
        (e.MotionChanged(0.0, 0.2, -0.9e-6, e.Direction.CLOSING),
         "MotionChanged direction=closing a=-900mm/s2 v=200mm/s x=0.0mm"),
        (e.ForceRose("post", 150_000.0), "ForceRose obstruction=post level=150N"),
        (e.LoopChanged("front edge", 8_200.0), 'LoopChanged edge="front edge" mohm=8200ohm'),
        (e.LoopChanged("a", float("inf")), "LoopChanged edge=a mohm=none"),
        (e.MainChanged(True), "MainChanged closed=yes"),
        (Foreign("Odd", '{"k": 7, "said": "\\u202e\\n\\""}'), 'Odd said="\\u202e\\n\\"" k=7'),
    ],
)
def test_an_event_as_a_line(event, said) -> None:
    assert told((1_500.0, event)).text() == said


def test_figures_are_rounded_half_up_to_their_steps() -> None:
    one = Told(1_234_500, "LeafStopped", (), (), (("x", 12_350), ("v", -1_500), ("mohm", 999), ("counter", 7)))
    assert one.rounded() == (1_235_000, "LeafStopped", (), (), (("x", 12_400), ("v", -1_000), ("mohm", 1_000),
                                                                ("counter", 7)))
    assert [figure("x", value) for value in (0, -40, 100, 12_345)] == ["0.0mm", "-0.04mm", "0.1mm", "12.345mm"]


def test_a_golden_trace_leaves_out_frames_and_says_where_it_ends() -> None:
    events = (e.Stamped(0.4, e.FrameArrived("t", 1)), e.Stamped(1_499.6, e.MainChanged(False)))
    text = written(golden_of(Section(Run.WHOLE, 0, None, events, 2_000_000.0), 7))
    head, _, line, end = text.splitlines()
    assert (head, line, end) == ("# gatesim-golden/1 seed=7", "0.002  MainChanged closed=no", "# ends 2.000")


WORDS = st.text(min_size=1, max_size=12)
KEYS = st.sampled_from(("edge", "leaf", "x", "v", "mohm", "level", "counter", "mode", "why"))
STEPS = {"x": 100, "v": 1_000, "mohm": 1_000, "level": 1_000, "counter": 1}


@st.composite
def lines(draw: st.DrawFn) -> Told:
    fields = draw(st.dictionaries(KEYS, WORDS | st.integers(-10**9, 10**9)))
    words = {key: value for key, value in fields.items() if isinstance(value, str)}
    subject = tuple((key, words[key]) for key in ("edge", "leaf") if key in words)
    figures = tuple((key, value * STEPS[key]) for key, value in fields.items()
                    if isinstance(value, int) and key in STEPS)
    return Told(draw(st.integers(0, 10**6)) * 1_000, draw(st.sampled_from(("LeafStopped", "A", "b_c"))), subject,
                tuple((key, text) for key, text in words.items() if key not in ("edge", "leaf")), figures)


@settings(max_examples=30)
@given(st.lists(lines(), max_size=4), st.integers(0, 2**64 - 1))
def test_what_was_written_is_read(events, seed) -> None:
    golden = Golden(seed, tuple(sorted(events, key=lambda one: one.at)), 10**9)
    text = written(golden)
    assert read(text, "g") == golden
    assert text.isascii()
    assert all(character == "\n" or character.isprintable() for character in text)


HEAD = "# gatesim-golden/1 seed=1\n"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "g:1:1: a golden trace begins with"),
        ("# gatesim-golden/2 seed=1\n# ends 1.000\n", "begins with"),
        (HEAD + "0.000  A\n", "g:2:1: the trace breaks off"),
        (HEAD + "0.001  A\n0.000  A\n# ends 1.000\n", "g:3:1: time runs backward"),
        (HEAD + "0.001 A\n# ends 1.000\n", "g:2:1: the line is no event"),
        (HEAD + "0.001  A x=1.0m\n# ends 1.000\n", "no event"),
        (HEAD + "0.001  A x=1.0mm x=1.0mm\n# ends 1.000\n", "no event"),
        (HEAD + '0.001  A why="\\q"\n# ends 1.000\n', "no event"),
        (HEAD + "\x1b[31m\n" * 50 + "# ends 1.000\n", "g:21:1:"),
    ],
)
def test_what_is_no_golden_trace(text, said) -> None:
    with pytest.raises(BadInput) as raised:
        read(text, "g")
    assert said in str(raised.value)
    assert len(raised.value.troubles) <= 20
