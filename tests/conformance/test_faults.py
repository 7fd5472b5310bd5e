"""Every fault kind: its texts, its places, and what passes before it, while it is there, and after it."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest

from gatesim.errors import BadUsage
from gatesim.events import Guard, WireDisturbed, WireRestored
from gatesim.plant.fault import Place
from gatesim.plant.faults.catalogue import Kind, faults, place
from gatesim.plant.part import Wire

sys.path.insert(0, str(Path(__file__).parent))

from fault_bench import MS, SITE, OneWire, Put, S, Whole, at_place
from fault_tables import KEEP, LEVEL_ROWS, MESSAGE_ROWS, LevelRow, MessageRow

KINDS = tuple(faults().values())
PLACES = [(kind, where) for kind in KINDS for where in kind.places(SITE)]
BEGIN = 100 * MS
LONG = 30 * S


def named(row: Any) -> str:
    return f"{row.kind} on {row.wire}"


def where_of(row: LevelRow | MessageRow) -> Place:
    where = place(faults()[row.kind], SITE, row.device)
    assert row.wire in where.wires
    return where._replace(wires=(row.wire,))


def is_like(passed: Any, expected: Any) -> bool:
    return passed == pytest.approx(expected, rel=1e-12) if isinstance(expected, float) else bool(passed == expected)


@pytest.mark.parametrize("row", LEVEL_ROWS, ids=named)
def test_a_level_before_and_after(row: LevelRow) -> None:
    wire = OneWire(row.wire, row.first)
    where = where_of(row)
    assert wire.level == row.first
    (at, begins), (ends_at, ends) = at_place(where, BEGIN, LONG).items()
    wire.at(at, *begins)
    raw = row.first
    for ms, put, passes in row.steps:
        if put is KEEP:
            wire.at(BEGIN + int(ms * MS))
        else:
            raw = put
            wire.at(BEGIN + int(ms * MS), Put(put))
        assert is_like(wire.level, passes), (ms, put)
    wire.at(ends_at, *ends)
    assert wire.level == raw
    wire.at(ends_at + 1, Put(row.first))
    assert wire.level == row.first
    assert any(not is_like(passes, raw) for raw, passes in _raw_and_passed(row)), "the row shows no difference"


def _raw_and_passed(row: LevelRow) -> list[tuple[Any, Any]]:
    raw, pairs = row.first, []
    for _, put, passes in row.steps:
        raw = raw if put is KEEP else put
        pairs.append((raw, passes))
    return pairs


@pytest.mark.parametrize("row", MESSAGE_ROWS, ids=named)
def test_messages_before_and_after(row: MessageRow) -> None:
    wire = OneWire(row.wire, ())
    first = row.puts[0][1]
    wire.at(10 * MS, Put(first))
    assert wire.arrived() == [(10 * MS, first)]
    (at, begins), (_, ends) = at_place(where_of(row), BEGIN, LONG).items()
    wire.at(at, *begins, *(Put(message) for ms, message in row.puts if ms == 0))
    for ms, message in row.puts:
        if ms > 0:
            wire.at(BEGIN + int(ms * MS), Put(message))
    until = BEGIN + 4 * S - 1
    wire.at(until)
    got = [(moment, value) for moment, value in wire.arrived(BEGIN - 1) if moment < until]
    assert got == [(BEGIN + ms * MS, value) for ms, value in row.arrive]
    wire.at(until + 1, *ends)
    wire.at(until + 2, Put(first))
    assert wire.arrived(until + 1) == [(until + 2, first)]
    assert [(ms, value) for ms, value in row.arrive] != list(row.puts), "the row shows no difference"


def test_every_kind_has_a_row_of_its_own() -> None:
    assert {row.kind for row in (*LEVEL_ROWS, *MESSAGE_ROWS)} == set(faults())


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.id)
def test_every_kind_has_all_its_texts(kind: Kind) -> None:
    for text in (kind.title, kind.shows, kind.must, kind.missed_by):
        assert len(text) > 5
        assert text[0].isupper()
    assert kind.title[-1].isalnum()
    for text in (kind.shows, kind.must, kind.missed_by):
        assert text.endswith(".")
    assert kind.row
    assert all(row[0] in "RAPCTLMHX" and row[1:].isdigit() for row in kind.row)
    assert kind.id == kind.id.lower()
    assert set(kind.id) <= set("abcdefghijklmnopqrstuvwxyz-")
    assert sys.modules[type(kind).__module__].__name__.rsplit(".", 1)[1] == kind.id.replace("-", "_")


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.id)
def test_every_kind_is_a_value(kind: Kind) -> None:
    again = type(kind)()
    assert again == kind
    assert hash(again) == hash(kind)
    assert repr(again) == repr(kind)
    assert sum(kind == other for other in KINDS) == 1
    state = kind.initial()
    if state is not None:
        assert state.copy() == state
        assert state.copy() is not state


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.id)
def test_every_kind_can_sit_somewhere_and_only_there(kind: Kind) -> None:
    places = kind.places(SITE)
    assert places, "the bench site has no place for it"
    devices = [where.device for where in places]
    assert len(set(devices)) == len(devices)
    for where in places:
        assert where.wires
        assert place(kind, SITE, where.device).fault is not None
    with pytest.raises(BadUsage, match="legal here") as caught:
        place(kind, SITE, "nobody")
    assert all(device in str(caught.value) for device in devices)


def test_a_place_that_is_the_only_one_needs_no_name() -> None:
    assert place(faults()["brake-coasting"], SITE, "").device == "brake"
    with pytest.raises(BadUsage):
        place(faults()["loop-open"], SITE, "")


def test_guards_follow_the_zones() -> None:
    guards = {(kind.id, where.device): where.guard for kind, where in PLACES}
    assert guards["loop-open", "nose"] is Guard.CLOSING
    assert guards["loop-open", "tail"] is Guard.OPENING
    assert guards["lost-link", "pair"] is Guard.BOTH
    assert guards["lost-link", "lone"] is Guard.CLOSING
    assert guards["wired-scan-dead", "input"] is Guard.OPENING
    assert guards["force-trip-stuck", "force sensing"] is Guard.BOTH
    assert guards["contactor-welded", "closing"] is Guard.DRIVE


def levels_of(world: Whole) -> dict[Wire, tuple[Any, Any]]:
    """What is put on each level wire, and what passes."""
    plant, one = world.plant, world.world
    return {
        wire: (one.raw[index], one.values[index]) for wire, index in plant.wires.items() if not plant.messages[index]
    }


@pytest.fixture(scope="module")
def resting() -> Whole:
    """The whole plant at rest, with everything heard."""
    return Whole().play([], S)


def forked(whole: Whole) -> Whole:
    new = object.__new__(Whole)
    new.plant, new.world, new.trace = whole.plant, whole.world.copy(), []
    return new


@pytest.mark.parametrize(("kind", "where"), PLACES, ids=lambda one: getattr(one, "id", None) or one.device)
@pytest.mark.parametrize("times", [1, 3], ids=["transient", "intermittent"])
def test_in_the_plant_it_touches_its_own_wires_only_and_restores_them(
    resting: Whole, kind: Kind, where: Place, times: int
) -> None:
    whole = forked(resting)
    where = place(kind, SITE, where.device)
    for turn in range(times):
        for at, stimuli in at_place(where, (2 + 2 * turn) * S, (3 + 2 * turn) * S, f"f{turn}").items():
            whole.play([(at, stimuli)], at)
            there = at % (2 * S) == 0
            for wire, (raw, passed) in levels_of(whole).items():
                assert raw == passed or (there and wire in where.wires), wire
    assert whole.world.faults == ()
    said = [event for event in whole.all(WireDisturbed) if event.found is kind.found]
    assert all(event.wire in [str(wire) for wire in where.wires] for event in said)
    assert all(event.device == where.device and event.guard is where.guard for event in said)
    assert len(whole.all(WireRestored)) == len(said)
    if kind.acts_on_begin:
        assert len(said) == times * len(where.wires)


@pytest.mark.parametrize(("kind", "where"), PLACES, ids=lambda one: getattr(one, "id", None) or one.device)
def test_in_the_plant_it_can_be_permanent_and_be_forked(resting: Whole, kind: Kind, where: Place) -> None:
    whole = forked(resting)
    where = place(kind, SITE, where.device)
    whole.play(list(at_place(where, 2 * S).items()), int(2.3 * S))
    fork = forked(whole)
    assert fork.world == whole.world
    before = len(whole.trace)
    whole.play([], 4 * S)
    fork.play([], 4 * S)
    assert whole.trace[before:] == fork.trace
    assert fork.world == whole.world
    assert len(whole.world.faults) == len(where.wires)
