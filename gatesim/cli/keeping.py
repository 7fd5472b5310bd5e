"""Keeping the rows of a sweep or check in the store as they are made."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from gatesim.cli.codes import Exit
from gatesim.cli.talk import Talk
from gatesim.errors import BadUsage
from gatesim.search.store import Head, Key, Kind, Store, opened


class Keeper:
    """Keeps rows; a store that fails on the way is told once, and the work goes on without it."""

    def __init__(self, talk: Talk, store: Store, head: Head) -> None:
        self._talk, self._store, self._wanted = talk, store, head.wanted
        self._number = store.begin(head)
        self._made = 0
        self.failed = False

    def keep(self, key: Key, row: dict[str, Any]) -> None:
        """One row (with `outcome`), at once on disk."""
        if not self.failed:
            self._try(lambda: self._store.add(self._number, key, row))
            self._made += 1

    def end(self) -> None:
        """Whole, where as many rows were made as there were to be."""
        if not self.failed and self._made == self._wanted:
            self._try(lambda: self._store.end(self._number))

    def _try(self, step: Any) -> None:
        try:
            step()
        except BadUsage as error:
            self.failed = True
            self._talk.complain(f"gatesim: {error}\nNot kept from here on; what was kept before stays as it was.")

    @property
    def code(self) -> Exit:
        """What the keeping means for the shell."""
        return Exit.BAD_INPUT if self.failed else Exit.AS_EXPECTED


@contextmanager
def keeping(talk: Talk, name: str | None, store: Path, head: Head) -> Iterator[Keeper | None]:
    """What keeps rows under a name; None where no name was given."""
    if name is None:
        yield None
        return
    with opened(store, make=True) as kept:
        keeper = Keeper(talk, kept, head)
        yield keeper
        keeper.end()


def head_of(kind: Kind, name: str | None, about: str, *, site_sha256: str | None, seed: int | None,
            wanted: int) -> Head:
    """What is said of a sweep or check as a whole, with this version and this hour."""
    from gatesim import __version__

    return Head(kind, name or "", about, site_sha256, __version__, seed, _now(), wanted)


def _now() -> str:
    """UTC, to the second; SOURCE_DATE_EPOCH, where it is set, says what time it is (reproducible-builds.org)."""
    fixed = os.environ.get("SOURCE_DATE_EPOCH", "")
    now = datetime.fromtimestamp(int(fixed), UTC) if fixed.isdecimal() else datetime.now(UTC)
    return now.strftime("%Y-%m-%dT%H:%M:%SZ")
