"""`gatesim check PATH...`: judge many scenarios."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from gatesim.cli import options
from gatesim.cli.talk import Talk
from gatesim.cli.wanted import Wanted, WantedBeside
from gatesim.report import cases_as

if TYPE_CHECKING:
    from gatesim.cli.beside import BesideCheck
    from gatesim.cli.judge_file import Done
    from gatesim.report.judged import Judged
    from gatesim.report.plain import Page


@click.command("check")
@click.argument("paths", nargs=-1, required=True, metavar="PATH...")
@click.option("--matrix", is_flag=True, help="Print the coverage matrix and requirement x scenario instead.")
@click.option("--jobs", type=click.IntRange(min=1, max=64), default=1, show_default=True,
              help="So many processes judge at once: quicker for many files, slower for few.")
@options.beside
@options.seed
@options.roles
@options.units
@options.result_as(*cases_as.names(), options.HTML)
@options.pass_talk
def COMMAND(  # noqa: N802 - a value, made by the decorators
    talk: Talk,
    paths: tuple[str, ...],
    matrix: bool,
    jobs: int,
    beside: WantedBeside,
    seed: int | None,
    logic: Wanted,
    style: str,
    output: str | None,
) -> int:
    """Judge every scenario that PATH names or holds, and read every site.

    Each requirement is judged in every run. What a scenario does not list must not fail; what it lists must
    come out as listed. With --against, what passes must not have lost too much of its margin.
    """
    from gatesim.cli.beside import beside_check
    from gatesim.cli.judge_file import judge_sites
    from gatesim.cli.judge_many import judge_many
    from gatesim.errors import NothingFound
    from gatesim.scenario.read import SITE_SUFFIX, collect

    talk.for_programs(style)
    options.can_write_page(style, output)
    _refuse(matrix, style, jobs, beside)
    scenarios, sites = collect(paths)
    if not scenarios and not any(path.endswith(SITE_SUFFIX) for path in paths):
        raise NothingFound(f"no scenario (*.scenario.yaml) in {', '.join(paths)}")
    judging = judge_many(scenarios, logic, seed, jobs, talk.note_once)
    done: list[Done] = []
    warnings: list[str] = []
    with beside_check(talk, beside, paths, len(scenarios), seed) as seen:
        for file, judged in zip(scenarios, talk.counted(judging, len(scenarios), "judging"), strict=True):
            seen.see(file, judged)
            done.append(judged.done)
            warnings += judged.warnings
    broken, more = judge_sites(sites)
    for warning in dict.fromkeys([*warnings, *more]):
        talk.note(warning)
    done += broken
    if style in cases_as.names():
        return _deliver_cases(talk, style, output, done, seen, seed, sites, logic)
    return _deliver(talk, done, seen, seed, matrix, style, output)


def _refuse(matrix: bool, style: str, jobs: int, beside: WantedBeside) -> None:
    """A BadUsage for options that do not go together."""
    from gatesim.errors import BadUsage

    if matrix and style != "text":
        raise BadUsage("--matrix is text; `--format json` has every verdict of it")
    if matrix and beside.compares:
        raise BadUsage("--matrix is shown instead of the verdicts, and nothing can be compared beside it")
    if jobs > 1 and (beside.golden or beside.accept):
        raise BadUsage("--golden and --accept look at whole traces, which only one process has: leave --jobs out")


def _deliver_cases(talk: Talk, style: str, output: str | None, done: list[Done], seen: BesideCheck, seed: int | None,
                   sites: list[str], logic: Wanted) -> int:
    from gatesim.cli.codes import worst
    from gatesim.report.check_cases import check_cases

    ended = seen.end()
    said = {result.file for result, _ in done}
    sound = [file for file in sites if file not in said]
    cases = check_cases(_in_order(done), seed, sound, logic.given(), *seen.cases())
    talk.deliver(cases_as.render(style, cases), output)
    return worst((ended, *(code for _, code in done)))


def _in_order(done: list[Done]) -> list[Judged]:
    return sorted((result for result, _ in done), key=lambda result: result.file)


def _deliver(talk: Talk, done: list[Done], seen: BesideCheck, seed: int | None, matrix: bool, style: str,
             output: str | None) -> int:
    from gatesim.cli.codes import worst
    from gatesim.report import check_json, check_text
    from gatesim.report import matrix as tables

    ended = seen.end()
    results = _in_order(done)
    if style == "json":
        talk.deliver(check_json.check_json(results, seed, seen.objects()), output)
    elif style == options.HTML:
        talk.deliver(_page(results, seed, seen, output), output)
    elif matrix:
        talk.render(lambda console: tables.draw(console, results), output)
    else:
        def draw(console: Page) -> None:
            check_text.draw(console, results, seed, talk.loudness > 0)
            seen.draw(console)

        talk.render_lines(draw, output)
    return worst((ended, *(code for _, code in done)))


def _page(results: list[Judged], seed: int | None, seen: BesideCheck, output: str | None) -> str:
    from gatesim.report.html.check_page import check_page
    from gatesim.report.plain import Plain

    beside = Plain()
    seen.draw(beside)
    return check_page(results, seed, beside.text(), output)
