"""What is kept of sweeps, and what became of their rows."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from gatesim.errors import BadUsage
from gatesim.search.store import Store, changes, opened


def row(fault: str = "lost-link", margin: int | None = 500, outcome: str = "safe in time", coverage: str = "exact",
        differs: bool = False) -> dict[str, object]:
    return {"fault": fault, "device": "d", "direction": "closing", "phase": "through the travel",
            "duration": "permanent", "outcome": outcome, "margin_us": margin, "coverage": coverage, "differs": differs}


def keep(store: Store, name: str, *rows: dict[str, object], ended: bool = True) -> None:
    store.begin(name, "yard", "hash", "0.1.0", 2**64 - 1, len(rows))
    for one in rows:
        store.add(name, one)
    if ended:
        store.end(name)


@pytest.fixture
def store(tmp_path):
    with opened(tmp_path / "deep" / "s.sqlite", make=True) as made:
        yield made


def test_a_sweep_comes_back_as_it_was(store) -> None:
    keep(store, "a", row(), row("loop-open", None))
    kept = store.read("a")
    assert (kept.name, kept.site, kept.seed, kept.wanted, kept.ended) == ("a", "yard", 2**64 - 1, 2, True)
    assert list(kept.rows.values()) == [row(), row("loop-open", None)]
    keep(store, "a", row("weak-contact"), ended=False)
    again = store.read("a")
    assert list(again.rows.values()) == [row("weak-contact")]
    assert not again.ended


def test_what_is_not_there_is_said_with_what_is(store) -> None:
    keep(store, "a", row())
    with pytest.raises(BadUsage, match="keeps no sweep 'b'; it keeps: a"):
        store.read("b")


def test_a_file_that_is_no_store(tmp_path) -> None:
    with pytest.raises(BadUsage, match="there is no store"):
        Store(tmp_path / "none.sqlite")
    text = tmp_path / "text.sqlite"
    text.write_text("not a database, and long enough to be seen as none " * 50)
    with pytest.raises(BadUsage, match="cannot be used as a store"):
        Store(text)
    later = tmp_path / "later.sqlite"
    with sqlite3.connect(later) as file:
        file.execute("PRAGMA user_version=99")
    with pytest.raises(BadUsage, match="version 99"):
        Store(later)


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


KILLED = """
import os, signal, sys
from pathlib import Path
from gatesim.search.store import Store
store = Store(Path(sys.argv[1]), make=True)
store.begin("a", "yard", "hash", "0.1.0", 1, 9)
for k in range(5):
    store.add("a", {"fault": f"f{k}", "device": "", "direction": "", "phase": "", "duration": "",
                    "outcome": "safe in time", "margin_us": 1, "coverage": "exact", "differs": False})
os.kill(os.getpid(), signal.SIGKILL)
"""


@pytest.mark.slow
def test_a_kill_loses_no_row_that_was_made(tmp_path) -> None:
    file = tmp_path / "s.sqlite"
    root = Path(__file__).parents[2]
    died = subprocess.run([sys.executable, "-c", KILLED, str(file)], cwd=root, check=False,
                          env={**os.environ, "PYTHONPATH": str(root)})
    assert died.returncode == -signal.SIGKILL
    with opened(file) as store:
        kept = store.read("a")
    assert len(kept.rows) == 5
    assert not kept.ended
