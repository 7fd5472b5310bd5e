"""`gatesim upgrade PATH...`: bring files of older formats to today's."""

from __future__ import annotations

import click

from gatesim.cli import options, rewriting
from gatesim.cli.talk import Talk


@click.command("upgrade")
@click.argument("paths", nargs=-1, required=True, metavar="PATH...")
@rewriting.how
@options.loudness
@options.pass_talk
def COMMAND(talk: Talk, paths: tuple[str, ...], check: bool, diff: bool) -> int:  # noqa: N802 - a value, made by the decorators
    """Bring site and scenario files of an older format to today's, and say what is changed.

    Comments and layout stay. `format` in a file's first line says its kind and version; a file without it is from
    before that. A file of a newer format than this gatesim reads is an error.
    """
    from gatesim.scenario.upgrade import upgraded

    def changed(file: str) -> rewriting.Change:
        found = upgraded(file)
        return rewriting.Change(file, found.before, found.after, found.steps)

    return rewriting.rewrite(talk, rewriting.files_of(paths), changed, check, diff)
