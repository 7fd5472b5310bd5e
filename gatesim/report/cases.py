"""Verdicts as a CI takes them: suites of cases, each case with what is wrong in it, and where that stands.

One shape for `check` and `sweep`; each file of `cases_as/` writes it in one format.  There are two states only, good
and not good: what was not judged although it was to be is a finding, so that no reader can show it as skipped.
"""

from __future__ import annotations

import shlex
from collections.abc import Iterable, Iterator
from enum import Enum
from typing import NamedTuple

from gatesim.shown import HIDDEN


class Weight(Enum):
    """What a finding means."""

    FAILURE = "failure"
    """A verdict is other than expected."""
    ERROR = "error"
    """Something could not be judged."""


class Place(NamedTuple):
    """A file as the user named it, and line and column from 1, or zeros where only the file is known."""

    file: str
    line: int = 0
    column: int = 0

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}" if self.line else self.file


class Rule(NamedTuple):
    """What a finding is held against, as `gatesim explain` knows it."""

    id: str
    sentence: str
    source: str


class Finding(NamedTuple):
    """One thing that is wrong.  `title` is one line; `lines` say all that a person must know, the title left out."""

    weight: Weight
    rule: Rule
    title: str
    place: Place
    lines: tuple[str, ...]
    seed: int | None


class Case(NamedTuple):
    """One thing that was judged; good where it has no findings.  `facts`: what it came to, as (name, value)."""

    name: str
    findings: tuple[Finding, ...] = ()
    facts: tuple[tuple[str, str], ...] = ()

    @property
    def weight(self) -> Weight | None:
        """An error before a failure; None where all is well."""
        weights = {finding.weight for finding in self.findings}
        return Weight.ERROR if Weight.ERROR in weights else Weight.FAILURE if weights else None


class Suite(NamedTuple):
    """The cases of one file (or of one part of a sweep)."""

    name: str
    file: str
    facts: tuple[tuple[str, str], ...]
    cases: tuple[Case, ...]


class Note(NamedTuple):
    """What a person must know although nothing differs: a residual risk."""

    title: str
    lines: tuple[str, ...]
    place: Place


class Cases(NamedTuple):
    """A whole result.  `closing` sums it up in one line."""

    command: str
    version: str
    suites: tuple[Suite, ...]
    notes: tuple[Note, ...]
    closing: str

    def cases(self) -> Iterator[tuple[Suite, Case]]:
        """Every case with its suite."""
        return ((suite, case) for suite in self.suites for case in suite.cases)

    def findings(self) -> Iterator[Finding]:
        """Every finding, in order."""
        return (finding for _, case in self.cases() for finding in case.findings)


NOT_JUDGED = Rule("not-judged", "What is to be judged can be read, runs to its end, and is judged.", "ours")
"""The rule behind what is an error."""


def command_line(*words: str) -> str:
    """A command as a shell takes it."""
    return " ".join(map(_quoted, words))


def _quoted(word: str) -> str:
    if HIDDEN.search(word) is None and not set("\t\r\n") & set(word):
        return shlex.quote(word)
    raw = "".join(chr(byte) if 32 <= byte < 127 and chr(byte) not in "'\\" else f"\\x{byte:02x}"
                  for byte in word.encode("utf-8", "surrogateescape"))
    return f"$'{raw}'"


def facts_of(said: Iterable[tuple[str, object]]) -> tuple[tuple[str, str], ...]:
    """Facts as text; what is not there is left out."""
    return tuple((name, str(value)) for name, value in said if value not in (None, ""))
