"""`gatesim doubles PATH...`: which wrong logic a set of scenarios catches."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from gatesim.cli import options
from gatesim.cli.talk import Talk

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gatesim.cli.codes import Exit
    from gatesim.search.trial import Result, Sound, Story, Tried


class _Count(click.ParamType[int]):
    """A whole number from 1, or "all"."""

    name = "number"

    def convert(self, value: object, parameter: click.Parameter | None, context: click.Context | None) -> int:
        """0 stands for all."""
        text = str(value)
        if text == "all":
            return 0
        if not (text.isascii() and text.isdigit() and 0 < int(text) < 10**6):
            self.fail(f"{text!r} is neither a whole number from 1 nor 'all'", parameter, context)
        return int(text)


@click.command("doubles")
@click.argument("paths", nargs=-1, required=True, metavar="PATH...")
@click.option("--double", "chosen", multiple=True, metavar="NAME", help="Only this double; may be given again.")
@click.option("--mutants", type=_Count(), default=None, metavar="N",
              help="Try so many mutants of the reference controller too, or `all`.")
@click.option("--seed", type=click.IntRange(0, 2**64 - 1), default=1, show_default=True, metavar="N",
              help="Draws the mutants.")
@click.option("--sweep", "with_sweep", is_flag=True,
              help="Give what the scenarios miss to a sweep of their sites (minutes each).")
@click.option("--jobs", type=click.IntRange(min=1, max=64), default=None,
              help="Worker processes.  [default: all cores]")
@options.result
@options.pass_talk
def COMMAND(  # noqa: N802 - a value, made by the decorators
    talk: Talk,
    paths: tuple[str, ...],
    chosen: tuple[str, ...],
    mutants: int | None,
    seed: int,
    with_sweep: bool,
    jobs: int | None,
    style: str,
    output: str | None,
) -> int:
    """Put defective logic in the place of the reference, and find what your scenarios catch.

    Each double has one classic bug. A scenario catches it when a verdict differs from what the scenario expects.
    Only the scenarios under PATH judge, and only those that come out as expected with the reference.
    """
    import os

    from gatesim.cli.codes import Exit, worst
    from gatesim.search import mutants as m
    from gatesim.search.trial import Result, sounds_of, trials_of

    names = _names(chosen)
    drawn = [one.name for one in m.chosen(mutants or None, seed)] if mutants is not None else []
    stories, codes = _stories(talk, paths)
    workers = jobs or os.cpu_count() or 1
    sounds: list[Sound] = []
    tried: list[Tried] = []
    try:
        sounds += talk.counted(sounds_of(stories, workers), len(stories), "reference")
        _say_unsound(talk, sounds)
        every = [*names, *drawn] if any(not one.differs for one in sounds) else []
        trials = trials_of(every, stories, tuple(sounds), workers, with_sweep=with_sweep)
        for one in talk.counted(trials, len(every), "doubles"):
            tried.append(one)
    except KeyboardInterrupt:
        talk.complain(f"interrupted: {len(names) + len(drawn) - len(tried)} of {len(names) + len(drawn)} were not run")
        codes.append(Exit.INTERRUPTED)
    result = Result.of(names, drawn, tried, sounds, tuple(m.mutants().refused) if drawn else ())
    if any(one.differs for one in sounds):
        codes.append(Exit.BAD_INPUT)
    _deliver(talk, result, style, output)
    return worst([*codes, _code(result)])


def _deliver(talk: Talk, result: Result, style: str, output: str | None) -> None:
    from gatesim.report import doubles_json, doubles_text

    if style == "json":
        talk.deliver(doubles_json.doubles_json(result), output)
    else:
        talk.render(lambda console: doubles_text.draw(console, result), output)


def _code(result: Result) -> Exit:
    from gatesim.cli.codes import Exit
    from gatesim.search.trial import Fate

    if not result.doubles:
        return Exit.NOTHING_FOUND
    return Exit.DIFFERS if result.count(Fate.MISSED) else Exit.AS_EXPECTED


def _names(chosen: tuple[str, ...]) -> Sequence[str]:
    """The doubles asked for, in their order; BadUsage for one that there is not."""
    from difflib import get_close_matches

    from gatesim.errors import BadUsage
    from gatesim.search.doubles.catalogue import doubles

    legal = tuple(doubles())
    for name in chosen:
        if name not in legal:
            near = get_close_matches(name, legal, 1)
            hint = f"; did you mean {near[0]!r}?" if near else "; `gatesim list doubles` has them all"
            raise BadUsage(f"there is no double {name!r}{hint}")
    return [name for name in legal if name in chosen] if chosen else legal


def _stories(talk: Talk, paths: tuple[str, ...]) -> tuple[list[Story], list[Exit]]:
    """Read every scenario; what cannot be read is told, and has its code."""
    from gatesim.cli import known
    from gatesim.cli.codes import code_of
    from gatesim.errors import GatesimError, NothingFound
    from gatesim.scenario.read import collect
    from gatesim.search.trial import Story

    files, _ = collect(paths)
    if not files:
        raise NothingFound(f"no scenario (*.scenario.yaml) in {', '.join(paths)}")
    stories, codes = [], []
    for file in files:
        try:
            stories.append(Story(file, known.scenario(file)))
        except GatesimError as error:
            talk.complain(str(error))
            codes.append(code_of(error))
    return stories, codes


def _say_unsound(talk: Talk, sounds: Sequence[Sound]) -> None:
    for one in sorted(sounds, key=lambda one: one.file):
        if one.differs:
            talk.complain(f"{one.file}: left out, it is not as expected with the reference itself: {one.differs}")
