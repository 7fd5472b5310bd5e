"""`gatesim compare SITE`: a story in which two controllers differ."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from gatesim.cli import options
from gatesim.cli.talk import Talk

if TYPE_CHECKING:
    from gatesim.plant.logic.contract import Roles
    from gatesim.search.compare import Compared

REFERENCE = "gatesim.plant.logic.controller_reference:ReferenceController"


@click.command("compare")
@click.argument("site_file", metavar="SITE")
@click.option("--controller", "specs", multiple=True, required=True, metavar="SPEC",
              help="A controller; give two, or one to compare it with the reference: module:Name, file.py:Name or "
                   "'run:COMMAND ARGS'.")
@click.option("--by", type=click.Choice(["outputs", "words", "verdicts"]), default="outputs", show_default=True,
              help="What is compared: what goes out by wire, the texts too, or the verdicts of every requirement.")
@click.option("--slack", metavar="DURATION", default="1 us", show_default=True,
              help="The same output may come so much earlier or later.")
@click.option("--stories", type=click.IntRange(0, 1_000_000), default=1000, show_default=True,
              help="Random stories to try.")
@click.option("--moves", type=click.IntRange(0, 1_000_000), default=2000, show_default=True,
              help="Moves of the driver that is led by the first controller's table, where it shows one.")
@click.option("--budget", metavar="SECONDS", type=click.FloatRange(min=0.1), default=None,
              help="Time for the search.  [default: as long as it takes]")
@click.option("--answer-within", metavar="DURATION", default="5 s", show_default=True,
              help="How long a program may take for one answer.")
@click.option("--write", "path", metavar="FILE", default=None, help="Write the story here as a scenario file.")
@click.option("--seed", type=click.IntRange(0, 2**64 - 1), default=1, show_default=True, metavar="N",
              help="Draws the stories.")
@options.units
@options.result
@options.pass_talk
def COMMAND(  # noqa: N802 - a value, made by the decorators
    talk: Talk,
    site_file: str,
    specs: tuple[str, ...],
    by: str,
    slack: str,
    stories: int,
    moves: int,
    budget: float | None,
    answer_within: str,
    path: str | None,
    seed: int,
    style: str,
    output: str | None,
) -> int:
    """Look for a story in which two controllers differ, shorten it, and tell it.

    Each controller has a plant of its own, and both plants are told the same. Exit code 1 where they differ.
    That no difference was found is no proof that there is none.
    """
    from gatesim.cli import known
    from gatesim.cli.codes import Exit
    from gatesim.cli.found import write_story
    from gatesim.cli.wanted import duration
    from gatesim.search.compare import Effort, Pair, compare
    from gatesim.search.outputs import By
    from gatesim.search.tries import site_tree, tries

    talk.for_programs(style)
    first, second = _names(specs)
    site = known.site(site_file)
    pair = Pair(_roles(talk, first, answer_within), _roles(talk, second, answer_within), By(by),
                duration("slack", slack))
    with tries(site_tree(site_file), known.scenario) as tried:
        found = compare(site, pair, seed, Effort(stories, moves, budget), tried,
                        lambda every: talk.counted(every, stories, "stories"))
    if path is not None and found.tree is not None:
        write_story({**found.tree, "title": f"{first} and {second} differ"[:120]}, site_file, path)
        talk.note(f"written: {path}")
    _deliver(talk, found, (first, second), style, output)
    if found.difference is None:
        return Exit.AS_EXPECTED
    return Exit.OUR_FAULT if found.difference.died else Exit.DIFFERS


def _names(specs: tuple[str, ...]) -> tuple[str, str]:
    from gatesim.errors import BadUsage

    if len(specs) > 2:
        raise BadUsage(f"--controller is given {len(specs)} times; two are compared, or one with the reference")
    return (specs[0], specs[1]) if len(specs) == 2 else (REFERENCE, specs[0])


def _roles(talk: Talk, spec: str, within: str) -> Roles:
    """The reference logic with this controller.  The reference itself looks its table up: it is the same, and quicker
    (a law proves it)."""
    from gatesim.cli.roles import load_roles
    from gatesim.cli.wanted import Wanted
    from gatesim.plant.logic.controller_reference import ReferenceController
    from gatesim.run import default_roles

    if spec == REFERENCE:
        return default_roles()._replace(controller=ReferenceController(by_library=False))
    return load_roles(Wanted(controller=spec, answer_within=within), talk.note_once)


def _deliver(talk: Talk, found: Compared, names: tuple[str, str], style: str, output: str | None) -> None:
    from gatesim.report import compare_json, compare_text

    if style == "json":
        talk.deliver(compare_json.compare_json(found, names), output)
        return
    told: Any = compare_text.story_until(found)
    talk.render(lambda console: compare_text.draw(console, found, names, told), output)
