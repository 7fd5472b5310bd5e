"""What was swept before: one SQLite file, a row written as soon as it is made.

A kill at any moment loses the row in hand at most (write-ahead log, each row its own transaction).  The file stands
where the user says; nothing is written unasked.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any, NamedTuple

from gatesim.errors import BadUsage

VERSION = 1
"""Of the tables."""

_TABLES = """
CREATE TABLE IF NOT EXISTS sweeps (
    name TEXT PRIMARY KEY, site TEXT NOT NULL, site_sha256 TEXT NOT NULL, gatesim TEXT NOT NULL, seed TEXT NOT NULL,
    rows_wanted INTEGER NOT NULL, ended INTEGER NOT NULL DEFAULT 0
);
CREATE TABLE IF NOT EXISTS rows (
    sweep TEXT NOT NULL REFERENCES sweeps(name), fault TEXT NOT NULL, device TEXT NOT NULL, direction TEXT NOT NULL,
    phase TEXT NOT NULL, duration TEXT NOT NULL, outcome TEXT NOT NULL, margin_us INTEGER, whole TEXT NOT NULL,
    PRIMARY KEY (sweep, fault, device, direction, phase, duration)
);
"""

Key = tuple[str, str, str, str, str]
KEY = ("fault", "device", "direction", "phase", "duration")


class Kept(NamedTuple):
    """A sweep as it was kept.  `ended` is False where it was cut off; `rows` by what they are about."""

    name: str
    site: str
    site_sha256: str
    version: str
    seed: int
    wanted: int
    ended: bool
    rows: Mapping[Key, dict[str, Any]]


def site_hash(site: Any) -> str:
    """SHA-256 of everything that a site says."""
    return hashlib.sha256(repr(site).encode()).hexdigest()


class Store:
    """An open store.  BadUsage where the file is none, or is of a later version."""

    def __init__(self, path: Path, *, make: bool = False) -> None:
        if not make and not path.is_file():
            raise BadUsage(f"there is no store {path}; `gatesim sweep SITE --save NAME` makes one")
        try:
            if make:
                path.parent.mkdir(parents=True, exist_ok=True)
            self._file = sqlite3.connect(path, isolation_level=None)
            self._file.execute("PRAGMA journal_mode=WAL")
            self._file.execute("PRAGMA synchronous=FULL")
            (version,) = self._file.execute("PRAGMA user_version").fetchone()
            if version > VERSION:
                raise BadUsage(f"{path} is a store of version {version}; this gatesim reads up to {VERSION}")
            self._file.executescript(_TABLES)
            self._file.execute(f"PRAGMA user_version={VERSION}")
        except (sqlite3.Error, OSError) as error:
            raise BadUsage(f"{path} cannot be used as a store: {error}") from None
        self.path = path

    def begin(self, name: str, site: str, sha256: str, version: str, seed: int, wanted: int) -> None:
        """A sweep of this name; one of the same name before it is replaced."""
        self._file.execute("BEGIN IMMEDIATE")
        self._file.execute("DELETE FROM rows WHERE sweep = ?", (name,))
        self._file.execute("INSERT OR REPLACE INTO sweeps VALUES (?, ?, ?, ?, ?, ?, 0)",
                           (name, site, sha256, version, str(seed), wanted))
        self._file.execute("COMMIT")

    def add(self, name: str, row: dict[str, Any]) -> None:
        """One row (as in `gatesim-sweep/1`), at once on disk."""
        key = [row[part] for part in KEY]
        self._file.execute("INSERT OR REPLACE INTO rows VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
                           (name, *key, row["outcome"], row["margin_us"], json.dumps(row)))

    def end(self, name: str) -> None:
        """All its rows are made."""
        self._file.execute("UPDATE sweeps SET ended = 1 WHERE name = ?", (name,))

    def names(self) -> list[str]:
        """The sweeps kept, in the order of their names."""
        return [name for (name,) in self._file.execute("SELECT name FROM sweeps ORDER BY name")]

    def read(self, name: str) -> Kept:
        """A sweep; BadUsage with what there is where there is none of this name."""
        found = self._file.execute("SELECT * FROM sweeps WHERE name = ?", (name,)).fetchone()
        if found is None:
            there = ", ".join(self.names()) or "none yet"
            raise BadUsage(f"{self.path} keeps no sweep {name!r}; it keeps: {there}")
        rows = {tuple(key): json.loads(whole) for *key, whole in self._file.execute(
            f"SELECT {', '.join(KEY)}, whole FROM rows WHERE sweep = ? ORDER BY rowid", (name,))}
        return Kept(found[0], found[1], found[2], found[3], int(found[4]), found[5], bool(found[6]),
                    rows)

    def close(self) -> None:
        """Let go of the file."""
        self._file.close()


@contextmanager
def opened(path: Path, *, make: bool = False) -> Iterator[Store]:
    """A store for a while."""
    with closing(Store(path, make=make)) as store:
        yield store


class Change(NamedTuple):
    """What became of one row between two sweeps."""

    key: Key
    before: dict[str, Any] | None
    after: dict[str, Any] | None

    @property
    def lost(self) -> float | None:
        """The share of its margin that it lost (negative: gained); None where that can't be said."""
        if self.before is None or self.after is None:
            return None
        old, new = self.before["margin_us"], self.after["margin_us"]
        if old is None or new is None or old <= 0:
            return None
        return float((old - new) / old)

    def is_worse(self, share: float) -> bool:
        """Whether it came out graver, lost more of its margin than the share, proves less, or is missing now."""
        if self.after is None:
            return True
        if self.before is None:
            return bool(self.after["differs"])
        graver = _GRAVITY.index(self.after["outcome"]) < _GRAVITY.index(self.before["outcome"])
        less = _WORTH.index(self.after["coverage"]) > _WORTH.index(self.before["coverage"])
        return graver or less or (self.lost or 0.0) > share


_GRAVITY = ("unsafe", "safe but late", "undetermined", "latent", "nuisance stop", "safe in time", "no effect")
_WORTH = ("exact", "sampled", "incomplete")


def changes(before: Kept, after: Kept) -> list[Change]:
    """Row by row, in the order of the later sweep; what is missing there comes last."""
    found = [Change(key, before.rows.get(key), row) for key, row in after.rows.items()]
    found += [Change(key, row, None) for key, row in before.rows.items() if key not in after.rows]
    return [one for one in found if one.before != one.after]
