"""`gatesim watch PATH...`: judge again on every save."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from gatesim.cli import options
from gatesim.cli.talk import Talk
from gatesim.cli.wanted import Wanted

if TYPE_CHECKING:
    from gatesim.cli.watching import Due
    from gatesim.report.plain import Page


@click.command("watch")
@click.argument("paths", nargs=-1, required=True, metavar="PATH...")
@options.seed
@options.roles
@options.units
@options.loudness
@options.pass_talk
def COMMAND(talk: Talk, paths: tuple[str, ...], seed: int | None, logic: Wanted) -> None:  # noqa: N802 - a value, made by the decorators
    """Judge the scenarios of PATH, and again whenever one of them, its site or the logic under test is saved.

    Only what changed is judged again. Ctrl-C ends it (exit code 130).
    """
    from gatesim.cli import watching
    from gatesim.errors import GatesimError, NothingFound

    watcher = watching.Watcher(paths, watching.files_of(logic))
    due = watcher.look()
    if not due.known and not due.sites:
        raise NothingFound(f"no scenario (*.scenario.yaml) in {', '.join(paths)}")
    said = ""
    while True:
        if not due.nothing:
            _judge(talk, due, seed, logic)
        watching.wait()
        try:
            due, said = watcher.look(), ""
        except GatesimError as error:  # a folder may be gone for a moment
            due = due._replace(scenarios=(), sites=(), logic=False)
            if said != str(error):
                said = str(error)
                talk.complain(f"gatesim: {said}")


def _judge(talk: Talk, due: Due, seed: int | None, logic: Wanted) -> None:
    from gatesim.cli.judge_file import judge_file, judge_sites
    from gatesim.cli.roles import load_roles
    from gatesim.errors import GatesimError
    from gatesim.report import check_text

    try:
        roles = load_roles(logic, talk.note_once)
    except GatesimError as error:  # it is being written
        talk.complain(f"gatesim: {error}")
        return
    warnings: list[str] = []
    results = []
    for file in talk.progress(due.scenarios, "judging"):
        judged = judge_file(file, roles, seed)
        results.append(judged.done.result)
        warnings += judged.warnings
    broken, more = judge_sites(due.sites)
    results += [done.result for done in broken]

    def draw(page: Page) -> None:
        for one in results:
            check_text.draw_result(page, one, talk.loudness > 0)

    talk.render_lines(draw, None)
    for warning in dict.fromkeys([*warnings, *more]):
        talk.note(warning)
    wrong = sum(one.outcome != "as expected" for one in results)
    others = due.known - len(due.scenarios)
    talk.note(f"{len(results)} judged, {wrong} not as expected; {others} unchanged. Watching; Ctrl-C ends it.")
