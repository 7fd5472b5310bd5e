"""What is kept of sweeps and checks, and in which file."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing

import pytest

from gatesim.errors import BadUsage
from gatesim.search import store as room
from gatesim.search.margins import changes
from gatesim.search.store import SWEEP_KEY, Head, Kind, Store, opened


def row(fault: str = "lost-link", margin: int | None = 500, outcome: str = "safe in time", coverage: str = "exact",
        differs: bool = False) -> dict[str, object]:
    return {"fault": fault, "device": "d", "direction": "closing", "phase": "through the travel",
            "duration": "permanent", "outcome": outcome, "margin_us": margin, "coverage": coverage, "differs": differs}


def head(name: str, kind: Kind = Kind.SWEEP, wanted: int = 1, about: str = "yard") -> Head:
    return Head(kind, name, about, "hash", "0.1.0", 2**64 - 1, "2026-01-02T03:04:05Z", wanted)


def keep(store: Store, name: str, *rows: dict[str, object], ended: bool = True) -> None:
    number = store.begin(head(name, wanted=len(rows)))
    for one in rows:
        store.add(number, tuple(str(one[part]) for part in SWEEP_KEY), one)
    if ended:
        store.end(number)


@pytest.fixture
def store(tmp_path):
    with opened(tmp_path / "deep" / "s.sqlite", make=True) as made:
        yield made


def test_a_sweep_comes_back_as_it_was(store) -> None:
    keep(store, "a", row(), row("loop-open", None))
    kept = store.read("a")
    assert kept.head == head("a", wanted=2)
    assert kept.ended
    assert list(kept.rows.values()) == [row(), row("loop-open", None)]


def test_what_has_ended_stays_until_what_replaces_it_has(store) -> None:
    keep(store, "a", row())
    keep(store, "a", row("weak-contact"), ended=False)
    assert list(store.read("a").rows.values()) == [row()]
    assert [(one.ended, one.rows) for one in store.listed()] == [(True, 1), (False, 1)]
    keep(store, "a", row("strip-welded"))
    assert list(store.read("a").rows.values()) == [row("strip-welded")]
    assert [(one.ended, one.rows) for one in store.listed()] == [(True, 1)]
    keep(store, "cut", row(), ended=False)
    assert not store.read("cut").ended


def test_a_name_is_of_one_kind(store) -> None:
    keep(store, "a", row())
    with pytest.raises(BadUsage, match="keeps a sweep as 'a'"):
        store.begin(head("a", Kind.CHECK))


@pytest.mark.parametrize("text", ["\udcff.yaml", "'; DROP TABLE kept; --", "\x00", "\u202e\x1b[31m", "x" * 10_000])
def test_any_text_may_be_kept(store, text) -> None:
    number = store.begin(head(text, about=text))
    store.add(number, (text,), {"outcome": "as expected", "said": text})
    store.end(number)
    assert list(store.read(text).rows) == [(text,)]
    assert [one.rows for one in store.listed()] == [1]


def test_what_is_not_there_is_said_with_what_is(store) -> None:
    with pytest.raises(BadUsage, match="it keeps: nothing yet"):
        store.read("b")
    keep(store, "a", row())
    with pytest.raises(BadUsage, match="keeps no 'b'; it keeps: a"):
        store.read("b")


def test_a_file_that_is_no_store(tmp_path) -> None:
    with pytest.raises(BadUsage, match="there is no store"):
        Store(tmp_path / "none.sqlite")
    text = tmp_path / "text.sqlite"
    text.write_text("not a database, and long enough to be seen as none " * 50)
    empty = tmp_path / "empty.sqlite"
    empty.touch()
    other = tmp_path / "other.sqlite"
    with closing(sqlite3.connect(other)) as file:
        file.execute("CREATE TABLE kept (number INTEGER)")
    for path in (text, empty, other, tmp_path):
        with pytest.raises(BadUsage, match=r"cannot be used as a store|there is no store"):
            Store(path)
    for path in (text, other, text / "deeper" / "s.sqlite"):
        with pytest.raises(BadUsage, match="cannot be used as a store"):
            Store(path, make=True)
    later = tmp_path / "later.sqlite"
    with closing(sqlite3.connect(later)) as file:
        file.execute("PRAGMA user_version=99")
    with pytest.raises(BadUsage, match="version 99"):
        Store(later)


VERSION_1 = """
CREATE TABLE sweeps (
    name TEXT PRIMARY KEY, site TEXT NOT NULL, site_sha256 TEXT NOT NULL, gatesim TEXT NOT NULL, seed TEXT NOT NULL,
    rows_wanted INTEGER NOT NULL, ended INTEGER NOT NULL DEFAULT 0
);
CREATE TABLE rows (
    sweep TEXT NOT NULL REFERENCES sweeps(name), fault TEXT NOT NULL, device TEXT NOT NULL, direction TEXT NOT NULL,
    phase TEXT NOT NULL, duration TEXT NOT NULL, outcome TEXT NOT NULL, margin_us INTEGER, whole TEXT NOT NULL,
    PRIMARY KEY (sweep, fault, device, direction, phase, duration)
);
PRAGMA user_version=1;
"""


def test_a_store_of_version_1_is_carried_over(tmp_path) -> None:
    path = tmp_path / "old.sqlite"
    with closing(sqlite3.connect(path)) as file:
        file.executescript(VERSION_1)
        file.execute("INSERT INTO sweeps VALUES ('a', 'yard', 'hash', '0.1.0', '18446744073709551615', 2, 1)")
        for one in (row(), row("löop")):
            key = [one[part] for part in SWEEP_KEY]
            file.execute("INSERT INTO rows VALUES ('a', ?, ?, ?, ?, ?, 'safe in time', 500, ?)",
                         (*key, json.dumps(one)))
        file.commit()
    for _ in range(2):
        with opened(path) as store:
            kept = store.read("a")
            assert kept.head == head("a", wanted=2)._replace(saved=None)
            assert kept.ended
            assert {key: dict(one) for key, one in kept.rows.items()} == {
                tuple(one[part] for part in SWEEP_KEY): one for one in (row(), row("löop"))}
    with opened(path) as store:
        keep(store, "b", row())
        assert [one.head.name for one in store.listed()] == ["a", "b"]


def test_who_writes_for_too_long_is_said(store, monkeypatch) -> None:
    monkeypatch.setattr(room, "WAIT", 0.05)
    keep(store, "a", row())
    with closing(sqlite3.connect(store.path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with opened(store.path) as waiting:
            assert len(waiting.read("a").rows) == 1  # who only reads need not wait
            with pytest.raises(BadUsage, match="another program has been writing"):
                keep(waiting, "b", row())
        other.execute("ROLLBACK")


def test_a_full_store_is_said_and_keeps_what_it_has(store) -> None:
    """SQLite's own limit of pages stands in for a full disk; what the system says then is tried elsewhere."""
    keep(store, "a", row())
    (pages,) = store._file.execute("PRAGMA page_count").fetchone()
    store._file.execute(f"PRAGMA max_page_count={pages + 2}")
    number = store.begin(head("b", wanted=9))

    def fill() -> None:
        for k in range(9):
            store.add(number, (f"{k}",), {"outcome": "safe in time", "much": "x" * 5_000})

    with pytest.raises(BadUsage, match="cannot be used as a store: database or disk is full"):
        fill()
    assert len(store.read("a").rows) == 1
    assert 0 < len(store.read("b").rows) < 9


@pytest.mark.parametrize(
    ("before", "after", "worse"),
    [
        (row(), row(margin=460), False),
        (row(), row(margin=440), True),
        (row(margin=None), row(margin=None, outcome="unsafe"), True),
        (row(outcome="latent"), row(), False),
        (row(), row(coverage="incomplete"), True),
        (row(coverage="incomplete"), row(), False),
        (row(), None, True),
        (None, row(), False),
        (None, row(differs=True), True),
    ],
)
def test_what_counts_as_worse(store, before, after, worse) -> None:
    keep(store, "a", *[one for one in (before,) if one])
    keep(store, "b", *[one for one in (after,) if one])
    (change,) = changes(store.read("a"), store.read("b"))
    assert change.is_worse(0.1) is worse


def test_equal_rows_are_no_change(store) -> None:
    keep(store, "a", row())
    keep(store, "b", row())
    assert changes(store.read("a"), store.read("b")) == []
