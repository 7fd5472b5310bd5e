"""What was swept and checked before: one SQLite file, a row written as soon as it is made.

A kill at any moment loses the row in hand at most (write-ahead log, each row its own transaction).  What is kept under
a name stays until what replaces it has ended.  The file stands where the user says; nothing is written unasked.
"""

from __future__ import annotations

import json
import os
import sqlite3
import time
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from enum import Enum
from pathlib import Path
from typing import Any, NamedTuple
from urllib.parse import quote

from gatesim.errors import BadUsage

VERSION = 2
"""Of the tables, in SQLite's `user_version`.  1 kept sweeps only."""
WAIT = 30.0
"""How long a program waits for another one that writes (s)."""
_APPLICATION = int.from_bytes(b"gate", "big")
"""In SQLite's `application_id`: tells a store from a file of something else."""

_TABLES = (
    """CREATE TABLE kept (
        number INTEGER PRIMARY KEY AUTOINCREMENT, kind TEXT NOT NULL, name TEXT NOT NULL, about TEXT NOT NULL,
        site_sha256 TEXT, gatesim TEXT NOT NULL, seed TEXT, saved TEXT, wanted INTEGER NOT NULL,
        ended INTEGER NOT NULL DEFAULT 0)""",
    """CREATE TABLE kept_rows (
        kept INTEGER NOT NULL REFERENCES kept(number), key TEXT NOT NULL, outcome TEXT NOT NULL,
        whole TEXT NOT NULL, PRIMARY KEY (kept, key))""",
)
_FROM_1 = (
    """INSERT INTO kept (kind, name, about, site_sha256, gatesim, seed, saved, wanted, ended)
        SELECT 'sweep', name, site, site_sha256, gatesim, seed, NULL, rows_wanted, ended FROM sweeps ORDER BY rowid""",
    """INSERT INTO kept_rows (kept, key, outcome, whole)
        SELECT kept.number, json_array(fault, device, direction, phase, duration), outcome, whole
        FROM rows JOIN kept ON kept.name = rows.sweep ORDER BY rows.rowid""",
    "DROP TABLE rows",
    "DROP TABLE sweeps",
)

Key = tuple[str, ...]
"""What a row is about: of a sweep `SWEEP_KEY`, of a check the scenario's file."""
SWEEP_KEY = ("fault", "device", "direction", "phase", "duration")


class Kind(Enum):
    """What was kept."""

    SWEEP = "sweep"
    CHECK = "check"


class Head(NamedTuple):
    """What is said of a sweep or check as a whole.

    `about`: the site's name, or the paths that were checked; `site_sha256`: of a sweep's site (in a check each row has
    its own); `seed`: None where each scenario used its own; `saved`: UTC, to the second, None where it is not known;
    `wanted`: how many rows there were to be.
    """

    kind: Kind
    name: str
    about: str
    site_sha256: str | None
    version: str
    seed: int | None
    saved: str | None
    wanted: int


class Kept(NamedTuple):
    """A sweep or check as it was kept.

    `ended` is False where it was cut off or is still being made; `rows` by what they are about, each with
    `site_sha256` and the like as whoever kept it gave them.
    """

    head: Head
    ended: bool
    rows: Mapping[Key, dict[str, Any]]


class Listed(NamedTuple):
    """One line of what there is."""

    head: Head
    ended: bool
    rows: int


class Store:
    """An open store.  BadUsage where the file is none, is of a later version, or can't be read or written."""

    def __init__(self, path: Path, *, make: bool = False) -> None:
        self.path = path
        with self._told():
            if make:
                path.parent.mkdir(parents=True, exist_ok=True)
            elif not path.is_file():
                raise BadUsage(f"there is no store {path}; --save NAME of `gatesim check` or `sweep` makes one")
            self._file = _connected(path, make=make)
            try:
                self._prepare(make=make)
            except BaseException:
                self._file.close()
                raise

    @contextmanager
    def _told(self) -> Iterator[None]:
        """Every failure of the file as one plain line."""
        try:
            yield
        except sqlite3.OperationalError as error:
            if "locked" in str(error) or "busy" in str(error):
                raise BadUsage(f"{self.path}: another program has been writing to this store for {WAIT:g} s; "
                               f"try again when it is done") from None
            room = error.sqlite_errorname.startswith(("SQLITE_IOERR", "SQLITE_FULL"))
            hint = "; is there room on the disk, and is it no network drive?" if room else ""
            raise BadUsage(f"{self.path} cannot be used as a store: {error}{hint}") from None
        except (sqlite3.Error, OSError) as error:
            raise BadUsage(f"{self.path} cannot be used as a store: {error}") from None

    @contextmanager
    def _at_once(self) -> Iterator[None]:
        """One transaction, whole or not at all; waits for another writer."""
        with self._told():
            self._file.execute("BEGIN IMMEDIATE")
            try:
                yield
                self._file.execute("COMMIT")
            except BaseException:
                if self._file.in_transaction:
                    self._file.execute("ROLLBACK")
                raise

    def _prepare(self, *, make: bool) -> None:
        """Make the tables in a new file; carry over those of version 1."""
        version = self._version()
        if version == VERSION:
            return
        if version == 0 and not make:
            raise BadUsage(f"{self.path} cannot be used as a store: it is empty")
        with self._at_once():
            version = self._version()  # another program may have been quicker
            if version == VERSION:
                return
            for statement in (*_TABLES, *(_FROM_1 if version == 1 else ())):
                self._file.execute(statement)
            self._file.execute(f"PRAGMA application_id={_APPLICATION}")
            self._file.execute(f"PRAGMA user_version={VERSION}")

    def _version(self) -> int:
        """Of the tables that are there; 0 for an empty file.  BadUsage for a later one or a file of something else."""
        version, mark = (int(self._file.execute(f"PRAGMA {name}").fetchone()[0])
                         for name in ("user_version", "application_id"))
        tables = {name for (name,) in self._file.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        ours = {"kept", "kept_rows"} <= tables if mark == _APPLICATION else {"sweeps", "rows"} == tables
        if version > VERSION:
            raise BadUsage(f"{self.path} is a store of version {version}; this gatesim reads up to {VERSION}")
        if not ours and (version or mark or tables):
            raise BadUsage(f"{self.path} cannot be used as a store: it is a database of something else")
        return version

    def begin(self, head: Head) -> int:
        """Its number, for `add` and `end`.  BadUsage where the name is kept for the other kind."""
        name, *said = (_plain(text) for text in head[1:5])
        with self._at_once():
            other = self._file.execute("SELECT kind FROM kept WHERE name = ? AND kind <> ?",
                                       (name, head.kind.value)).fetchone()
            if other is not None:
                raise BadUsage(f"{self.path} keeps a {other[0]} as {head.name!r}; choose another name")
            seed = None if head.seed is None else str(head.seed)
            made = self._file.execute(
                "INSERT INTO kept (kind, name, about, site_sha256, gatesim, seed, saved, wanted) "
                "VALUES (?, ?, ?, ?, ?, ?, ?, ?)", (head.kind.value, name, *said, seed, *head[6:]))
            assert made.lastrowid is not None
            return made.lastrowid

    def add(self, number: int, key: Key, row: dict[str, Any]) -> None:
        """One row (with at least `outcome`), at once on disk."""
        with self._at_once():
            self._file.execute("INSERT OR REPLACE INTO kept_rows VALUES (?, ?, ?, ?)",
                               (number, _written(key), row["outcome"], json.dumps(row)))

    def end(self, number: int) -> None:
        """All its rows are made: what was begun before it under the same name goes."""
        with self._at_once():
            older = "SELECT number FROM kept WHERE number < ?1 AND name = (SELECT name FROM kept WHERE number = ?1)"
            self._file.execute(f"DELETE FROM kept_rows WHERE kept IN ({older})", (number,))
            self._file.execute(f"DELETE FROM kept WHERE number IN ({older})", (number,))
            self._file.execute("UPDATE kept SET ended = 1 WHERE number = ?", (number,))

    def listed(self) -> list[Listed]:
        """Everything that is kept, in the order in which it was begun."""
        with self._told():
            return [Listed(_head(said), bool(ended), rows) for *said, ended, rows in self._file.execute(
                f"SELECT {_HEAD}, ended, (SELECT count(*) FROM kept_rows WHERE kept = number) "
                "FROM kept ORDER BY number")]

    def read(self, name: str) -> Kept:
        """What is kept under a name: the last that has ended, or where none has, the last that was begun.

        BadUsage with what there is where there is none of this name.
        """
        with self._told():
            found = self._file.execute(f"SELECT {_HEAD}, number, ended FROM kept WHERE name = ? "
                                       "ORDER BY ended DESC, number DESC", (_plain(name),)).fetchone()
            if found is None:
                there = ", ".join(dict.fromkeys(one.head.name for one in self.listed())) or "nothing yet"
                raise BadUsage(f"{self.path} keeps no {name!r}; it keeps: {there}")
            *said, number, ended = found
            rows = {tuple(json.loads(key)): json.loads(whole) for key, whole in self._file.execute(
                "SELECT key, whole FROM kept_rows WHERE kept = ? ORDER BY rowid", (number,))}
        return Kept(_head(said), bool(ended), rows)

    def close(self) -> None:
        """Let go of the file."""
        self._file.close()


_HEAD = "kind, name, about, site_sha256, gatesim, seed, saved, wanted"


def _head(said: list[Any]) -> Head:
    kind, name, about, site_sha256, version, seed, saved, wanted = said
    return Head(Kind(kind), name, about, site_sha256, version, None if seed is None else int(seed), saved, wanted)


def _written(key: Key) -> str:
    return json.dumps(key, separators=(",", ":"))


def _plain(text: str | None) -> str | None:
    """Text without lone surrogates, of which a file's name may have some, and for which SQLite has no bytes."""
    return None if text is None else text.encode("utf-8", "backslashreplace").decode()


def _connected(path: Path, *, make: bool) -> sqlite3.Connection:
    """An open connection; to read only where nothing is to be made, and nothing can be written."""
    if make:
        return _in_mode(path, "rwc")
    if os.access(path, os.W_OK) and os.access(path.parent, os.W_OK):
        try:
            return _in_mode(path, "rw")
        except sqlite3.OperationalError as error:
            if not error.sqlite_errorname.startswith(("SQLITE_IOERR", "SQLITE_FULL", "SQLITE_CANTOPEN")):
                raise
    # Where nothing waits to be written in beside it, nobody writes either: then SQLite needs no file of its own.
    log = Path(f"{path}-wal")
    return _in_mode(path, "ro" if log.exists() and log.stat().st_size else "ro&immutable=1")


def _in_mode(path: Path, mode: str) -> sqlite3.Connection:
    place = quote(str(path.absolute()))
    file = sqlite3.connect(f"file:{place}?mode={mode}", uri=True, timeout=WAIT, isolation_level=None)
    try:
        if mode.startswith("rw"):
            _log_ahead(file)
        file.execute("PRAGMA synchronous=FULL")
        file.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except BaseException:
        file.close()
        raise
    return file


def _log_ahead(file: sqlite3.Connection) -> None:
    """Write ahead.  Turning that on asks for the file alone, and SQLite does not wait for it by itself."""
    until = time.monotonic() + WAIT
    while True:
        try:
            file.execute("PRAGMA journal_mode=WAL")
            return
        except sqlite3.OperationalError as error:
            if "locked" not in str(error) or time.monotonic() > until:
                raise
            time.sleep(0.01)


@contextmanager
def opened(path: Path, *, make: bool = False) -> Iterator[Store]:
    """A store for a while."""
    with closing(Store(path, make=make)) as store:
        yield store
