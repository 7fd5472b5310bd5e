"""Two traces side by side, aligned by what happened."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from gatesim.report.diff_text import lines
from gatesim.report.told import Told
from gatesim.report.trace_diff import Difference, How, Pair, Part, aligned


def event(at: int, kind: str = "A", edge: str = "e", x: int = 0, mode: str = "m") -> Told:
    return Told(at * 1_000, kind, (("edge", edge),), (("mode", mode),), (("x", x),))


def hows(one: list[Told], two: list[Told]) -> list[tuple[str, int]]:
    return [(pair.how.value, pair.later // 1_000) for pair in aligned(one, two)]


def said(one: list[Told], two: list[Told], *, rounded: bool = False) -> list[str]:
    part = Part("whole run", tuple(aligned(one, two)), (), 0)
    return [line for _, line in lines(Difference((part,), None, rounded), frames=False)]


EVENTS = st.lists(st.builds(event, st.integers(0, 50), st.sampled_from("ABC"), st.sampled_from("ef"),
                            st.integers(0, 2)), max_size=12).map(lambda made: sorted(made, key=lambda one: one.at))


@given(EVENTS, EVENTS)
def test_every_event_stands_once(one, two) -> None:
    pairs = aligned(one, two)
    assert sorted(pair.before for pair in pairs if pair.before) == sorted(one)
    assert sorted(pair.after for pair in pairs if pair.after) == sorted(two)
    for pair in pairs:
        if pair.before and pair.after:
            assert pair.before[1:3] == pair.after[1:3]


@given(EVENTS, st.integers(-10_000, 10_000))
def test_moving_everything_moves_everything(events, by) -> None:
    moved = [one._replace(at=one.at + by) for one in events]
    if by == 0 or not {one.at for one in events} & {one.at for one in moved}:  # no event comes to stand for another
        assert {pair.later for pair in aligned(events, moved)} <= {by}


def test_nothing_differs() -> None:
    events = [event(k) for k in range(5)]
    assert hows(events, events) == [("same", 0)] * 5
    assert said(events, events) == ["events: 5 same"]


def test_one_of_many_alike_is_missing_where_it_is() -> None:
    events = [event(k) for k in range(8)]
    less = [*events[:3], *events[4:]]
    assert [pair.at for pair in aligned(events, less) if pair.how is How.MISSING] == [3_000]
    assert [pair.at for pair in aligned(less, events) if pair.how is How.NEW] == [3_000]


def test_a_changed_word_and_a_changed_figure() -> None:
    assert said([event(1)], [event(3, x=1_500, mode="n")]) == [
        "  ~ 0.001 s  A edge=e: 2 ms later, mode m -> n, x 0.0mm -> 1.5mm", "events: 1 changed"]


def test_events_that_changed_places_are_one_each() -> None:
    one = [event(10, "A"), event(11, "B"), event(12, "C")]
    two = [event(10, "A"), event(12, "C"), event(13, "B")]
    assert sorted(hows(one, two)) == [("moved", 2), ("same", 0), ("same", 0)]
    far = [event(10, "A"), event(12, "C"), event(11 + 2_001, "B")]
    assert sorted(hows(one, far)) == [("missing", 0), ("new", 0), ("same", 0), ("same", 0)]


def test_neighbours_that_move_alike_are_said_together() -> None:
    one = [event(k, "ABCDE"[k]) for k in range(5)]
    two = [event(k + 7, "ABCDE"[k], x=100 if k == 2 else 0) for k in range(5)]
    assert said(one, two) == ["  ~ 0.000 s to 0.004 s  5 events alike: 7 ms later, x 0.1mm more",
                              "events: 4 moved, 1 changed"]
    # Against a golden trace a step of rounding is no difference between neighbours.
    two[1] = two[1]._replace(at=two[1].at + 1_000)
    assert len(said(one, two)) > 2
    assert said(one, two, rounded=True)[0] == "  ~ 0.000 s to 0.004 s  5 events alike: about 7 ms later, x 0.1mm more"


def test_words_that_would_act_on_a_terminal() -> None:
    (line, _) = said([event(1)], [event(1, mode="\x1b[31m\n")])
    assert line == '  ~ 0.001 s  A edge=e: mode m -> "\\u001b[31m\\n"'


def test_missing_and_new() -> None:
    assert said([event(1, "A")], [event(2, "B", edge="x y")]) == [
        "  - 0.001 s  A edge=e mode=m x=0.0mm", '  + 0.002 s  B edge="x y" mode=m x=0.0mm',
        "events: 1 missing, 1 new"]


def test_a_long_trace_of_few_kinds_is_no_trouble() -> None:
    """10,000 events of three kinds against the same, each later and one missing: seconds, not minutes."""
    events = [event(k * 2, "ABC"[k % 3]) for k in range(10_000)]
    moved = [one._replace(at=one.at + 1_000) for one in events if one.at != 5_000_000]
    pairs = aligned(events, moved)
    assert sum(pair.how is How.MOVED for pair in pairs) >= 9_900
    assert isinstance(pairs[0], Pair)
