"""A store handled roughly, each try in a forked process of this one: `rough_store.py kills|writers|limits FOLDER`.

Run as a program of one thread, for a process with threads should not be forked.  Prints one JSON value.
"""

from __future__ import annotations

import json
import os
import random
import resource
import signal
import sqlite3
import sys
import traceback
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from gatesim.errors import BadUsage
from gatesim.search.store import Head, Kind, opened

ROWS = 4
TRIES = 100
NOBODY = 65534


def head(name: str, wanted: int = ROWS) -> Head:
    return Head(Kind.CHECK, name, ".", None, "0.1.0", None, None, wanted)


def forked(work: Callable[[], None]) -> int:
    """Do it in a child; its process id."""
    child = os.fork()
    if child:
        return child
    try:
        work()
    except BaseException:  # noqa: BLE001 - a child must never go on as its parent
        traceback.print_exc()
    finally:
        os._exit(0)


def answered(work: Callable[[], object]) -> object:
    """Do it in a child, and what came of it."""
    ours, theirs = os.pipe()
    child = forked(lambda: os.write(theirs, json.dumps(work()).encode()) and None)
    os.close(theirs)
    os.waitpid(child, 0)
    with os.fdopen(ours) as answer:
        return json.loads(answer.read())


def said(work: Callable[[], None]) -> str:
    """What BadUsage it comes to in this process; "" for none."""
    try:
        work()
    except BadUsage as error:
        return str(error)
    return ""


def saves(file: Path, first: int, told: int) -> None:
    """Save under one name again and again, each time whole, and tell after each step what has been promised."""
    with opened(file, make=True) as store:
        for version in range(first, first + 1000):
            number = store.begin(head("main"))
            for k in range(ROWS):
                store.add(number, (f"{k}",), {"outcome": "as expected", "version": version})
                os.write(told, f"{version} {k + 1}\n".encode())
            store.end(number)
            os.write(told, f"{version} {ROWS + 1}\n".encode())


def killed(file: Path, first: int, after: int, turns: int) -> dict[str, object]:
    """Kill a child that saves, so many turns of a loop after it has promised so many rows; look at what is left."""
    ours, theirs = os.pipe()
    child = forked(lambda: saves(file, first, theirs))
    os.close(theirs)
    promised = b""
    while promised.count(b"\n") < after:
        promised += os.read(ours, 8)
    for _ in range(turns):  # into the next save: some ten microseconds to a millisecond
        pass
    os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    while more := os.read(ours, 1 << 16):
        promised += more
    os.close(ours)
    steps = [tuple(map(int, line.split())) for line in promised.decode().splitlines()]
    with closing(sqlite3.connect(file)) as plain:
        whole = plain.execute("PRAGMA integrity_check").fetchone()[0]
    with opened(file) as store:
        kept = store.read("main")
        listed = [(one.ended, one.rows) for one in store.listed() if one.head.name == "main"]
    return {"status": status, "steps": steps, "integrity": whole, "ended": kept.ended, "listed": listed,
            "versions": [row["version"] for row in kept.rows.values()]}


def kills(folder: Path) -> object:
    """100 kills at moments drawn by seed 1, in one store."""
    file, draw, first, found = folder / "s.sqlite", random.Random(1), 1, []
    with opened(file, make=True) as store:  # something that has ended, of version 0
        number = store.begin(head("main"))
        for k in range(ROWS):
            store.add(number, (f"{k}",), {"outcome": "as expected", "version": 0})
        store.end(number)
    for _ in range(TRIES):
        one = killed(file, first, draw.randrange(2 * ROWS + 4), draw.randrange(50_000))
        found.append(one)
        first = max([first, *(step[0] for step in one["steps"])]) + 1  # type: ignore[attr-defined]
    return found


def writers(folder: Path) -> object:
    """Two at once from the first instant on, into a file that neither has made: under two names, then under one."""
    file = folder / "s.sqlite"

    def write(name: str, mark: int) -> None:
        with opened(file, make=True) as store:
            number = store.begin(head(name, 40))
            for k in range(40):
                store.add(number, (f"{k}",), {"outcome": "as expected", "mark": mark})
            store.end(number)

    for names in (("a", "b"), ("c", "c")):
        children = [forked(lambda name=name, mark=mark: write(name, mark))  # type: ignore[misc]
                    for mark, name in enumerate(names)]
        for child in children:
            os.waitpid(child, 0)
    with opened(file) as store:
        return [[one.head.name, one.ended, one.rows] for one in store.listed()]


def limits(folder: Path) -> object:
    """What a user is told where the file may not grow, and where the folder can't be written."""
    file = folder / "s.sqlite"
    with opened(file, make=True) as store:
        number = store.begin(head("main", 1))
        store.add(number, ("0",), {"outcome": "as expected"})
        store.end(number)
    full = answered(lambda: _short_of_room(file))
    folder.chmod(0o555)
    file.chmod(0o444)
    read_only = answered(lambda: _read_only(file))
    folder.chmod(0o755)
    with opened(file) as store:
        left = [[one.head.name, one.ended, one.rows] for one in store.listed()]
    return {"full": full, "read_only": read_only, "left": left}


def _short_of_room(file: Path) -> str:
    """A limit on the size of files stands in for a full disk: the same write fails, by EFBIG and not by ENOSPC."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, 200_000))

    def write() -> None:
        with opened(file, make=True) as store:
            number = store.begin(head("big", 100))
            for k in range(100):
                store.add(number, (f"{k}",), {"outcome": "as expected", "much": "x" * 10_000})

    return said(write)


def _read_only(file: Path) -> dict[str, object]:
    if os.getuid() == 0:  # whom no mode of a file stops
        os.setuid(NOBODY)

    def save() -> None:
        with opened(file, make=True) as store:
            store.begin(head("more"))

    def make() -> None:
        with opened(file.parent / "deeper" / "new.sqlite", make=True):
            pass

    with opened(file) as store:
        rows = len(store.read("main").rows)
    return {"saved": said(save), "made": said(make), "read": rows}


if __name__ == "__main__":
    _, what, where = sys.argv
    print(json.dumps({"kills": kills, "writers": writers, "limits": limits}[what](Path(where))))
