"""What must be judged again since the last look: changed scenarios, those whose site changed, all where logic changed.

Files are looked at (time, size, place on the disk), nothing is asked of the system: a set of scenarios is small, and
this works on network drives and in containers, where notices of change are often lost.
"""

from __future__ import annotations

import os
import time
from collections.abc import Iterable
from typing import NamedTuple

from gatesim.cli.wanted import Wanted

PAUSE = 0.4
"""Seconds from look to look."""

Stamp = tuple[int, int, int] | None


def wait() -> None:
    """Until the next look."""
    time.sleep(PAUSE)


class Due(NamedTuple):
    """What a look found."""

    scenarios: tuple[str, ...]
    sites: tuple[str, ...]
    """Sites that changed."""
    logic: bool
    """Whether files of the logic under test changed."""
    known: int
    """How many scenarios there are."""

    @property
    def nothing(self) -> bool:
        """Whether there is nothing to do."""
        return not self.scenarios and not self.sites and not self.logic


class Watcher:
    """Remembers what it saw."""

    def __init__(self, paths: Iterable[str], logic: Iterable[str] = ()) -> None:
        self.paths, self.logic = tuple(paths), tuple(logic)
        self.seen: dict[str, Stamp] = {}
        self.site_of: dict[str, str] = {}

    def look(self) -> Due:
        """What changed since the last look; at the first look, everything.  BadUsage where a path is gone."""
        from gatesim.scenario.read import collect

        scenarios, sites = collect(self.paths)
        now = {file: _stamp(file) for file in (*scenarios, *self.logic)}
        before, first = self.seen, not self.seen
        changed = {file for file, stamp in now.items() if first or before.get(file, "new") != stamp}
        for file in scenarios:
            if file in changed or file not in self.site_of:
                self.site_of[file] = _site_of(file)
        now |= {site: _stamp(site) for site in {*sites, *(self.site_of[file] for file in scenarios)} if site}
        changed |= {file for file, stamp in now.items() if first or before.get(file, "new") != stamp}
        self.seen = now
        logic = bool(changed & set(self.logic))
        due = [file for file in scenarios if logic or file in changed or self.site_of[file] in changed]
        return Due(tuple(due), tuple(site for site in sites if site in changed), logic and not first, len(scenarios))


def _stamp(file: str) -> Stamp:
    try:
        found = os.stat(file)
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size, found.st_ino


def _site_of(file: str) -> str:
    """The site file that a scenario names, though either may be broken; "" for none."""
    from pathlib import Path

    from gatesim.errors import BadInput
    from gatesim.scenario.strict import read_tree

    try:
        data = read_tree(Path(file)).data
    except BadInput:
        return ""
    given = data.get("site") if isinstance(data, dict) else None
    return os.path.normpath(os.path.join(os.path.dirname(file), given)) if isinstance(given, str) else ""


def files_of(logic: Wanted) -> list[str]:
    """The files that the logic under test is in, as far as its names tell."""
    found = []
    for spec in (logic.controller, logic.receiver, logic.classifier):
        if spec is None:
            continue
        words = spec.removeprefix("run:").split() if spec.startswith("run:") else [spec.rpartition(":")[0]]
        found += [word for word in words if os.path.isfile(word)]
    return found
