"""`gatesim conform [SITE]`: everything that can be asked of logic under test."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from gatesim.cli import options
from gatesim.cli.talk import Talk
from gatesim.cli.wanted import Wanted

if TYPE_CHECKING:
    from gatesim.search.conform import Conformance


@click.command("conform")
@click.argument("site_file", metavar="[SITE]", required=False)
@click.option("--scenarios", "paths", multiple=True, metavar="PATH",
              help="Scenarios to play; may be given again.  [default: those that ship]")
@click.option("--stories", type=click.IntRange(0, 1_000_000), default=200, show_default=True,
              help="Random stories to try (needs gatesim[laws]).")
@click.option("--budget", metavar="SECONDS", type=click.FloatRange(min=0.1), default=240, show_default=True,
              help="Time for the sweep and the random stories, a half for each.")
@click.option("--sweep/--no-sweep", "with_sweep", default=True, show_default=True, help="Sweep the site.")
@click.option("--jobs", type=click.IntRange(min=1, max=64), default=None,
              help="Worker processes of the sweep.  [default: all cores]")
@click.option("--write", "folder", metavar="DIR", default=None,
              help="Write each random story that breaks a requirement here, as a scenario file.")
@click.option("--seed", type=click.IntRange(0, 2**64 - 1), default=1, show_default=True, metavar="N",
              help="Of the sweep and the random stories; scenarios have their own.")
@options.roles
@options.result
@options.pass_talk
def COMMAND(  # noqa: N802 - a value, made by the decorators
    talk: Talk,
    site_file: str | None,
    paths: tuple[str, ...],
    stories: int,
    budget: float,
    with_sweep: bool,
    jobs: int | None,
    folder: str | None,
    seed: int,
    logic: Wanted,
    style: str,
    output: str | None,
) -> int:
    """Ask everything of a controller (or receiver, or classifier), and say what it met, missed and never showed.

    The scenarios that ship, a sweep of SITE (a shipped demo site where none is named), random stories of SITE that
    are shrunk where they break a requirement, and the coverage of the controller's table where its module has one.
    Exit code 1 where anything was missed.
    """
    import os

    from gatesim.cli.codes import Exit
    from gatesim.cli.conforming import Asked, conform
    from gatesim.errors import BadUsage
    from gatesim.report import conform_json, conform_text

    name = logic.controller or logic.receiver or logic.classifier
    if name is None:
        raise BadUsage("name the logic under test: --controller SPEC (or --receiver, --classifier)")
    if folder is not None and not os.path.isdir(folder):
        raise BadUsage(f"--write {folder}: there is no such folder")
    asked = Asked(logic, site_file, paths, stories, budget, seed, jobs or os.cpu_count() or 1, with_sweep)
    result = conform(asked, talk)
    if folder is not None:
        _write(talk, result, asked.site_file(), folder)
    if style == "json":
        talk.deliver(conform_json.conform_json(result, name), output)
    else:
        talk.render(lambda console: conform_text.draw(console, result, name, talk.loudness > 0), output)
    if result.deaths:
        return Exit.OUR_FAULT
    return Exit.DIFFERS if result.missed else Exit.AS_EXPECTED


def _write(talk: Talk, result: Conformance, site: str, folder: str) -> None:
    """A scenario file for each random story that broke a requirement."""
    import os

    from gatesim.cli.found import file_name, write_story

    for one in result.laws.broken:
        path = os.path.join(folder, file_name(*one.failure))
        write_story(one.tree, site, path)
        talk.note(f"written: {path}")
