"""`gatesim init DIR`: begin a project."""

from __future__ import annotations

import click

from gatesim.cli import options
from gatesim.cli.talk import Talk


@click.command("init")
@click.argument("folder", metavar="DIR")
@options.loudness
@options.pass_talk
def COMMAND(talk: Talk, folder: str) -> None:  # noqa: N802 - a value, made by the decorators
    """Begin a project for your own gate in DIR: a site, four scenarios, schemas, settings, a script for CI.

    Nothing that is there is written over. What is made passes `gatesim check`; its figures are invented and wait for
    yours.
    """
    import shlex

    from gatesim.cli.starting import start

    talk.deliver("".join(f"written: {path}\n" for path in start(folder)), None)
    talk.note(f"Next: gatesim check {shlex.quote(folder)}")
