"""`gatesim fmt PATH...`: lay files out."""

from __future__ import annotations

import click

from gatesim.cli import options, rewriting
from gatesim.cli.talk import Talk


@click.command("fmt")
@click.argument("paths", nargs=-1, required=True, metavar="PATH...")
@rewriting.how
@options.loudness
@options.pass_talk
def COMMAND(talk: Talk, paths: tuple[str, ...], check: bool, diff: bool) -> int:  # noqa: N802 - a value, made by the decorators
    """Lay out site and scenario files: indentation, gaps, blank lines, and quantities as "250 ms".

    What a file says stays as it is, the order of its keys and every comment too. A file that is no YAML is told and
    left alone; one whose values are wrong is laid out all the same (`gatesim check` tells them).
    """
    from gatesim.scenario.tidy import tidied

    def changed(file: str) -> rewriting.Change:
        return rewriting.Change(file, *tidied(file))

    return rewriting.rewrite(talk, rewriting.files_of(paths), changed, check, diff)
