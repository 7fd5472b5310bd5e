"""`gatesim run FILE`: the story of one scenario."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from gatesim.cli import options
from gatesim.cli.talk import Talk, write_whole
from gatesim.cli.wanted import Wanted

if TYPE_CHECKING:
    from gatesim.report.judged import Judged
    from gatesim.run import RunResult


@click.command("run")
@click.argument("file", metavar="FILE")
@click.option("--trace", metavar="FILE", default=None, help="Write the trace here (JSON lines), whole or not at all.")
@click.option("--vcd", "waves", metavar="FILE", default=None,
              help="Write the run as waveforms here (IEEE 1364 value change dump), whole or not at all.")
@options.seed
@options.roles
@options.units
@options.result_as(options.HTML)
@options.pass_talk
def COMMAND(  # noqa: N802 - a value, made by the decorators
    talk: Talk,
    file: str,
    trace: str | None,
    waves: str | None,
    seed: int | None,
    logic: Wanted,
    style: str,
    output: str | None,
) -> int:
    """Tell the story of one scenario, instant by instant, and its verdicts."""
    from gatesim.cli.judge_file import judge_file
    from gatesim.cli.roles import load_roles
    from gatesim.report import check_json, run_json
    from gatesim.report.check_text import said

    _can_write(waves)
    options.can_write_page(style, output)
    for_programs = talk.for_programs(style)
    done, run, warnings = judge_file(file, load_roles(logic, talk.note_once), seed)
    for warning in warnings:
        talk.note(warning)
    if run is None:
        for trouble in done.result.errors:
            talk.complain(said(trouble))
        if for_programs:
            talk.deliver(check_json.check_json([done.result], seed), output)
        elif style == options.HTML:
            talk.deliver(_page(done.result, None, output), output)
        return done.code
    _write(talk, run, trace, waves)
    if for_programs:
        talk.deliver(run_json.run_json(done.result, run), output)
    elif style == options.HTML:
        talk.deliver(_page(done.result, run, output), output)
    else:
        _tell(talk, done.result, run, output)
    return done.code


def _page(result: Judged, run: RunResult | None, output: str | None) -> str:
    from gatesim.report.html.run_page import error_page, run_page

    return error_page(result) if run is None else run_page(result, run, output)


def _can_write(waves: str | None) -> None:
    """BadUsage before anything runs, where what writes waveforms is not installed."""
    if waves is not None:
        from gatesim.report.waves import writer

        writer()


def _write(talk: Talk, run: RunResult, trace: str | None, waves: str | None) -> None:
    """The files beside the story that are asked for."""
    from gatesim.report.assemble import trace_of

    if trace is not None:
        write_whole(trace, trace_of(run))
        talk.note(f"written: {trace}")
    if waves is not None:
        from gatesim.report.waves import vcd_of

        write_whole(waves, vcd_of(run))
        talk.note(f"written: {waves}")


def _tell(talk: Talk, result: Judged, run: RunResult, output: str | None) -> None:
    from gatesim.report import run_text
    from gatesim.report.assemble import heads

    site = run.scenario.site
    loud = talk.loudness > 0
    stories = [
        (head, tuple(run_text.story(section.events, site, loud)))
        for head, section in heads(run, every=loud)
    ]
    whole, blocks = run.sections[0].events, talk.blocks(output)
    talk.render(lambda console: run_text.draw(console, result, site, whole, stories, loud, blocks), output)
