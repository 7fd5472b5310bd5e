"""`gatesim replay FILE`: step through a run."""

from __future__ import annotations

import sys
import time
from io import StringIO
from typing import TYPE_CHECKING

import click

from gatesim.cli import options
from gatesim.cli.talk import Talk, width
from gatesim.cli.wanted import Wanted
from gatesim.shown import visible

if TYPE_CHECKING:
    from gatesim.report.judged import Judged
    from gatesim.report.replay import Player


@click.command("replay")
@click.argument("file", metavar="FILE")
@click.option("--hide", is_flag=True, help="Hide fault, cause and verdict until they are asked for.")
@click.option(
    "--speed",
    type=click.FloatRange(min=0.01, max=1000),
    default=1.0,
    show_default=True,
    help="Of playing; 1 is as at the gate.",
)
@options.seed
@options.roles
@options.units
@options.loudness
@options.pass_talk
def COMMAND(  # noqa: N802 - a value, made by the decorators
    talk: Talk,
    file: str,
    hide: bool,
    speed: float,
    seed: int | None,
    logic: Wanted,
) -> int:
    """Step through a scenario's run: next event, back, play, jump to the verdict.

    Keys: n next, b back, p play, v verdict, r reveal or hide the cause, q quit. Without a terminal the same
    letters are read from standard input, one a line.
    """
    from gatesim.cli.judge_file import judge_file
    from gatesim.cli.roles import load_roles
    from gatesim.report.check_text import said
    from gatesim.report.replay import HELP, Player
    from gatesim.report.run_text import story

    done, run, _ = judge_file(file, load_roles(logic, talk.note_once), seed)
    if run is None:
        for trouble in done.result.errors:
            talk.complain(said(trouble))
        return done.code
    site = run.scenario.site
    lines = tuple(story(run.sections[0].events, site, talk.loudness > 0))
    player = Player(lines, _verdict(done.result), hide)
    _show(f"{'' if hide else run.scenario.title + '; '}seed {run.seed}\n{HELP}")
    _play(player, speed)
    return done.code


def _verdict(result: Judged) -> str:
    from rich.console import Console

    from gatesim.report.run_text import draw_verdicts

    page = StringIO()
    draw_verdicts(Console(file=page, width=width(), highlight=False, color_system=None), result, False)
    lines = [line.rstrip() for line in page.getvalue().splitlines()]
    return "\n".join([*lines, f"Outcome: {result.outcome}."])


def _key() -> str:
    if sys.stdin.isatty():
        return click.getchar()
    line = sys.stdin.readline()
    return (line.strip() or "n") if line else "q"


def _play(player: Player, speed: float) -> None:
    does = {
        "n": player.forth,
        " ": player.forth,
        "\r": player.forth,
        "b": player.back,
        "v": player.end,
        "r": player.reveal,
    }
    while (key := _key().lower()) != "q":
        if key == "p":
            while player.place < len(player.lines):
                time.sleep(player.pause(speed))
                _show(player.forth())
        elif key in does:
            _show(does[key]())
        else:
            from gatesim.report.replay import HELP

            _show(HELP)


def _show(text: str) -> None:
    """A text that may hold words of the logic under test."""
    click.echo(visible(text))
