"""Commands that change a user's files in place: each file whole or not at all, and shown first where that is asked."""

from __future__ import annotations

import difflib
import os
import stat
from collections.abc import Callable, Iterable, Iterator
from typing import Any, NamedTuple, TypeVar

import click

from gatesim.cli.codes import Exit, worst
from gatesim.cli.talk import Talk, write_whole
from gatesim.errors import BadInput, GatesimError, NothingFound

F = TypeVar("F", bound=Callable[..., Any])


class Change(NamedTuple):
    """A file as it stands and as it is to be; `says` what that does, a line each."""

    file: str
    before: str
    after: str
    says: tuple[str, ...] = ()


def how(command: F) -> F:
    """--check and --diff."""
    command = click.option("--diff", is_flag=True, help="Show the lines that would change; write nothing.")(command)
    return click.option("--check", is_flag=True, help="Write nothing; exit code 1 if a file would change.")(command)


def files_of(paths: tuple[str, ...]) -> list[str]:
    """The scenario and site files that the paths name or hold."""
    from gatesim.scenario.read import collect

    scenarios, sites = collect(paths)
    if not scenarios and not sites:
        raise NothingFound(f"no scenario (*.scenario.yaml) and no site (*.site.yaml) in {', '.join(paths)}")
    return sorted([*scenarios, *sites])


def rewrite(talk: Talk, files: Iterable[str], changed: Callable[[str], Change], check: bool, diff: bool) -> Exit:
    """Change each file, or show what would change.  A file that can't be read is told and left as it is; the others are
    changed all the same."""
    codes, count, alike = [Exit.AS_EXPECTED], 0, 0
    lines: list[str] = []
    writes = not check and not diff
    for file in files:
        try:
            change = changed(file)
            if change.before == change.after:
                alike += 1
                continue
            count += 1
            if writes:
                write_whole(os.path.realpath(file), change.after.encode(), stat.S_IMODE(os.stat(file).st_mode))
        except GatesimError as error:
            talk.complain(str(error) if isinstance(error, BadInput) else f"gatesim: {file}: {error}")
            codes.append(Exit(error.exit_code))
            continue
        lines += _difference(change) if diff else [f"{'changed' if writes else 'would change'}: {file}",
                                                   *(f"    {said}" for said in change.says)]
    if lines:
        talk.deliver("\n".join(lines) + "\n", None)
    talk.note(f"{count} {'changed' if writes else 'would change'}, {alike} as they should be"
              + (f", {len(codes) - 1} not read" if len(codes) > 1 else ""))
    if check and count:
        codes.append(Exit.DIFFERS)
    return worst(codes)


def _difference(change: Change) -> Iterator[str]:
    named = (f"{change.file} (as it is)", f"{change.file} (as it would be)")
    return difflib.unified_diff(_lines(change.before), _lines(change.after), *named, lineterm="")


def _lines(text: str) -> list[str]:
    return text.replace("\r", "\\r").split("\n")
