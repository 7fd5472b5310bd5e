"""A store that is killed while it saves, written by two at once, short of room, or read-only.

The claims are those of SQLite (write-ahead log, synchronous FULL: https://www.sqlite.org/wal.html, from memory); tried
here is that the store is used so that they hold.  A kill ends a process, not the machine: loss of power is not tried.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).parent
ROWS, TRIES = 4, 100


@pytest.fixture
def folder() -> Iterator[Path]:
    """One that others may enter, too."""
    with tempfile.TemporaryDirectory() as made:
        Path(made).chmod(0o755)
        yield Path(made)


def rough(what: str, folder: Path) -> Any:
    done = subprocess.run([sys.executable, HERE / "rough_store.py", what, folder], check=True, capture_output=True,
                          timeout=120, cwd=HERE.parents[1], env={"PYTHONPATH": str(HERE.parents[1])})
    return json.loads(done.stdout)


@pytest.mark.slow
def test_a_hundred_kills_lose_the_row_in_hand_at_most(folder) -> None:
    tries = rough("kills", folder)
    assert len(tries) == TRIES
    assert {one["status"] for one in tries} == {9}
    whole_before = 0
    for one in tries:
        assert one["integrity"] == "ok"
        # What had ended stays, whole, and is what the name says; what replaced it is whole or not there.
        promised = max([whole_before, *(version for version, step in one["steps"] if step == ROWS + 1)])
        assert one["ended"]
        assert one["versions"] in ([promised] * ROWS, [promised + 1] * ROWS, [_next(one, promised)] * ROWS)
        # What was being made has every row that was promised, and one more at most.
        whole_before = one["versions"][0]
        made = [step for version, step in one["steps"] if version > whole_before]
        unfinished = [rows for ended, rows in one["listed"] if not ended]
        if made:
            assert max(made) <= unfinished[-1] <= max(made) + 1
    # The kills came at many different points of a save, not all at the same.
    assert len({len(one["steps"]) for one in tries}) > 5
    assert any(step < ROWS for one in tries for _, step in one["steps"][-1:])


def _next(one: dict[str, Any], promised: int) -> int:
    """The version that was being ended when the kill came, if it was."""
    return max([promised, *(version for version, step in one["steps"] if step == ROWS)])


@pytest.mark.slow
def test_two_writers_wait_for_each_other(folder) -> None:
    listed = rough("writers", folder)
    assert sorted(listed[:2]) == [["a", True, 40], ["b", True, 40]]
    # Under one name: each was whole; the one that was begun last goes on standing, the other too until that has ended.
    assert {tuple(one) for one in listed[2:]} == {("c", True, 40)}
    assert 1 <= len(listed[2:]) <= 2


@pytest.mark.slow
def test_no_room_and_no_right_to_write_are_said_and_lose_nothing(folder) -> None:
    found = rough("limits", folder)
    assert "cannot be used as a store: " in found["full"]
    assert any(word in found["full"] for word in ("full", "I/O error"))
    for told in (found["read_only"]["saved"], found["read_only"]["made"]):
        assert "cannot be used as a store: " in told
    assert found["read_only"]["read"] == 1
    assert found["left"][0] == ["main", True, 1]
    (_, ended, rows) = found["left"][1]
    assert not ended
    assert 0 < rows < 100
