"""Traces: what is written is read again, and what is broken is refused with its line."""

from __future__ import annotations

import json
from enum import Enum
from typing import Any, NamedTuple

import pytest

from gatesim import events as e
from gatesim import trace as t
from gatesim.errors import BadInput, ModelError
from gatesim.events import Brake, Direction, Level, Lockout, Run, Stamped

HEAD = '{"format":"gatesim-trace/1","run":"whole run","seed":1,"site":"yard","title":""}'


def _value(name: str, hint: Any) -> Any:
    text = str(hint)
    for kind in (Enum,):
        if isinstance(hint, type) and issubclass(hint, kind):
            return next(iter(hint))
    if "tuple" in text:
        return (Level.REST, Level.OPEN)
    if "None" in text:
        return Direction.CLOSING
    return {float: 1234.6, int: 7, bool: True, str: "ünï \u2028\ud800"}[hint]


def every_kind() -> tuple[Stamped, ...]:
    """One event of every known kind."""
    from typing import get_type_hints

    made = []
    for number, kind in enumerate(t.kinds().values()):
        hints = get_type_hints(kind)
        fields: Any = kind
        made.append(Stamped(number + 0.4, fields(*(_value(name, hints[name]) for name in fields._fields))))
    return tuple(made)


def story(*events: Stamped, **more: Any) -> t.Story:
    return t.Story("yard", 1, "a title", (t.Section(Run.WHOLE, 0, None, events, 1e6),), **more)


def test_every_kind_of_event_survives_twice() -> None:
    events = every_kind()
    assert len(events) > 30
    fork = t.Section(Run.EDGE_ALONE, 3, 2.6, events[3:], 99.5)
    whole = story(*events)
    once = t.write(whole._replace(sections=(*whole.sections, fork)))
    back = t.read(once)
    assert t.write(back) == once
    assert [type(one.event) for one in back.sections[0].events] == [type(one.event) for one in events]
    assert (back.sections[1].run, back.sections[1].after, back.sections[1].fork) == (Run.EDGE_ALONE, 3, 3.0)
    assert (back.site, back.seed, back.title, back.foreign) == ("yard", 1, "a title", 0)


def test_the_first_leaf_is_not_written_and_the_second_is() -> None:
    first, second = e.LeafStopped(1.0), e.LeafStopped(2.0, e.LeafName.SECOND)
    lines = [t.line(Stamped(5.0, event)) for event in (first, second)]
    assert lines == ['{"is":"LeafStopped","t":5,"x":1}', '{"is":"LeafStopped","leaf":"second","t":5,"x":2}']
    assert [t.parse_line(one.encode()).event for one in lines] == [first, second]
    said = t.parse_line(b'{"is":"LeafStopped","leaf":"first","t":5,"x":1}')
    assert said.event == first
    back = t.read(t.write(story(Stamped(5.0, first), Stamped(6.0, second))))
    assert [event.leaf for _, event in back.sections[0].events] == [e.LeafName.FIRST, e.LeafName.SECOND]


def test_an_unknown_leaf_is_refused() -> None:
    lines = [HEAD, '{"is":"LeafStopped","leaf":"third","t":5,"x":1}', '{"ends_us":9}']
    with pytest.raises(BadInput, match="leaf must be one of 'first', 'second'"):
        t.read("\n".join(lines).encode())


def test_figures_are_whole_and_keys_sorted() -> None:
    written = t.line(Stamped(1.5, e.MotionChanged(1234.5, -0.3000004, 0.25e-6, Direction.CLOSING)))
    assert written == '{"a":250000,"direction":"closing","is":"MotionChanged","t":2,"v":-300000,"x":1235}'
    assert (
        t.line(Stamped(0, e.LoopChanged("nose", 8200.25))) == '{"edge":"nose","is":"LoopChanged","mohm":8200250,"t":0}'
    )
    said = t.line(Stamped(0, e.OrdersChanged(None, False, True, Brake.HOLD, False, Lockout.NONE, False, "m")))
    assert json.loads(said)["order"] is None
    assert '"level":null' in t.line(Stamped(0, e.ForceRose("b", float("inf"))))


def test_the_sum_is_over_the_bytes() -> None:
    first, second = t.write(story()), t.write(story(Stamped(0, e.PowerLost())))
    assert t.sha256(first) == t.sha256(t.write(t.read(first))) != t.sha256(second)


def test_queries() -> None:
    trace = t.Trace((Stamped(1, e.LeafStopped(1.0)), Stamped(5, e.PowerLost()), Stamped(9, e.LeafStopped(2.0))))
    assert [at for at, _ in trace.of(e.LeafStopped)] == [1, 9]
    assert trace.first(e.LeafStopped, after=2) == (9, e.LeafStopped(2.0))
    assert trace.first(e.PowerReturned) is None


def test_foreign_kinds_are_kept_counted_and_seen_by_nobody() -> None:
    data = f'{HEAD}\n{{"b":[1],"is":"DoorBell","t":3}}\n{{"ends_us":9}}\n'.encode()
    read = t.read(data)
    assert read.foreign == 1
    assert read.sections[0].events == (Stamped(3.0, t.Foreign("DoorBell", '{"b":[1]}')),)
    assert t.write(read) == data


def test_signals_are_read_and_written() -> None:
    given = story(signals=("LeafStopped",))
    assert t.read(t.write(given)).signals == ("LeafStopped",)


def test_every_kind_can_be_written() -> None:
    assert len([t.register(kind) for kind in t.kinds().values()]) > 30


def test_a_device_can_make_its_kinds_known(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(t, "_KINDS", dict(t._KINDS))
    monkeypatch.setattr(t, "_READS", dict(t._READS))
    monkeypatch.setattr(t, "_WRITES", dict(t._WRITES))

    @t.register
    class BeamBroken(NamedTuple):
        beam: str

    back = t.read(t.write(story(Stamped(1, BeamBroken("low")))))
    assert back.sections[0].events[0].event == BeamBroken("low")
    with pytest.raises(ModelError, match="two event kinds"):
        t.register(NamedTuple("BeamBroken", [("other", int)]))


def test_a_field_that_has_its_default_is_left_out_wherever_it_stands(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("_KINDS", "_READS", "_WRITES"):
        monkeypatch.setattr(t, name, dict(getattr(t, name)))

    @t.register
    class Leant(NamedTuple):
        by: str
        angle: int = 0
        leaf: e.LeafName = e.LeafName.FIRST
        zest: bool = False

    for event, line in [
        (Leant("x"), '{"by":"x","is":"Leant","t":1}'),
        (Leant("x", 7), '{"angle":7,"by":"x","is":"Leant","t":1}'),
        (Leant("x", 7, e.LeafName.SECOND, True),
         '{"angle":7,"by":"x","is":"Leant","leaf":"second","t":1,"zest":true}'),
    ]:
        assert t.line(Stamped(1, event)) == line
        assert t.parse_line(line.encode()).event == event


@pytest.mark.parametrize(
    ("lines", "line", "message"),
    [
        ([""], 1, "no trace"),
        (["{}"], 1, "stands in no section"),
        ([HEAD.replace("/1", "/2")], 1, "format"),
        ([HEAD.replace("whole run", "half")], 1, "run must be"),
        ([HEAD.replace('"seed":1', '"seed":"x"')], 1, "seed"),
        ([HEAD, "{"], 2, "not JSON"),
        ([HEAD, "[" * 60_000], 2, "not JSON"),
        ([HEAD, "[1]"], 2, "not a JSON object"),
        ([HEAD, '{"t":NaN,"is":"PowerLost"}'], 2, "NaN"),
        ([HEAD, '{"t":1,"t":2,"is":"PowerLost"}'], 2, "twice"),
        ([HEAD, '{"t":-1,"is":"PowerLost"}'], 2, "below zero"),
        ([HEAD, '{"t":1.5,"is":"PowerLost"}'], 2, "whole number"),
        ([HEAD, '{"t":true,"is":"PowerLost"}'], 2, "whole number"),
        ([HEAD, '{"t":' + "9" * 5000 + ',"is":"PowerLost"}'], 2, ""),
        ([HEAD, '{"t":1}'], 2, "needs is"),
        ([HEAD, '{"t":1,"is":7}'], 2, "is must be text"),
        ([HEAD, '{"t":1,"is":"LeafStopped"}'], 2, "needs x"),
        ([HEAD, '{"t":1,"is":"LeafStopped","x":1.5}'], 2, "x must be a whole number"),
        ([HEAD, '{"t":1,"is":"LeafStopped","x":1,"y":2}'], 2, "has no y"),
        ([HEAD, '{"t":1,"is":"LeafStarted","x":1,"direction":"up"}'], 2, "direction must be one of"),
        ([HEAD, '{"t":1,"is":"SounderChanged","sounding":1}'], 2, "true or false"),
        ([HEAD, '{"t":1,"is":"EdgeReleased","edge":1,"direction":"opening"}'], 2, "text"),
        ([HEAD, '{"t":5,"is":"PowerLost"}', '{"t":4,"is":"PowerLost"}'], 3, "backward"),
        ([HEAD, '{"t":5,"is":"PowerLost"}', '{"ends_us":4}'], 3, "before its last event"),
        ([HEAD, '{"t":5,"is":"PowerLost"}'], 2, "breaks off"),
        ([HEAD, HEAD], 2, "before the last one has ended"),
        ([HEAD, '{"ends_us":4}', HEAD], 3, "once"),
        (
            [HEAD, '{"ends_us":4}', '{"format":"gatesim-trace/1","run":"edge alone","after":9,"fork_us":1}'],
            3,
            "more than",
        ),
        ([HEAD, "x" * 70_000], 2, "longer"),
    ],
)
def test_a_broken_line_is_named(lines: list[str], line: int, message: str) -> None:
    with pytest.raises(BadInput) as caught:
        t.read("\n".join(lines).encode(), "some.jsonl")
    assert caught.value.troubles[0].line == line
    assert message in caught.value.troubles[0].message
    assert caught.value.troubles[0].file == "some.jsonl"


def test_bytes_that_are_no_text_and_many_faults() -> None:
    with pytest.raises(BadInput) as caught:
        t.read(HEAD.encode() + b"\n\xff\xfe\n" + b"x\n" * 50)
    assert "UTF-8" in caught.value.troubles[0].message
    assert len(caught.value.troubles) == t.MOST_TROUBLES
