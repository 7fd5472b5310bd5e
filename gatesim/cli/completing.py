"""What a shell offers for an argument: files where a path is due, ids where an id is."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

PLACES = ("PATH...", "FILE", "BEFORE", "AFTER", "SITE", "[SITE]", "SCENARIO", "SITE_OR_SCENARIO", "TRACE", "STORE")
"""What arguments that name a file are called in `--help`."""


class _Text(click.types.StringParamType):
    """Any text."""


class _Place(click.types.StringParamType):
    """Text that names a file or folder."""

    def shell_complete(self, ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:
        from click.shell_completion import CompletionItem

        return [CompletionItem(incomplete, type="file")]


class _Folder(click.types.StringParamType):
    """Text that names a folder."""

    def shell_complete(self, ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:
        from click.shell_completion import CompletionItem

        return [CompletionItem(incomplete, type="dir")]


class _Id(click.types.StringParamType):
    """Text that names a requirement, a fault kind or a double."""

    def shell_complete(self, ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:
        from click.shell_completion import CompletionItem

        from gatesim.cli import known

        names = sorted([*known.requirements(), *known.faults(), *known.doubles()])
        return [CompletionItem(name) for name in names if name.startswith(incomplete)]


def of_argument(argument: click.Argument) -> click.types.StringParamType:
    """The type of a text argument, by what it is called in `--help`."""
    called = argument.metavar or ""
    return _Place() if called in PLACES else _Folder() if called == "DIR" else _Id() if called == "ID" else _Text()
