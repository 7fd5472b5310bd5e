"""`gatesim judge TRACE --site SITE`: judge a trace from anywhere."""

from __future__ import annotations

import click

from gatesim.cli import options
from gatesim.cli.talk import Talk


@click.command("judge")
@click.argument("trace", metavar="TRACE")
@click.option("--site", "site_file", metavar="SITE", required=True, help="The site file that the trace belongs to.")
@options.units
@options.result
@options.pass_talk
def COMMAND(talk: Talk, trace: str, site_file: str, style: str, output: str | None) -> int:  # noqa: N802 - a value
    """Judge a trace, from a run or from a bench, by the same requirements.

    Nothing is expected here: any failure gives exit code 1. A requirement whose signals the trace lacks is
    undetermined.
    """
    from gatesim.cli import known
    from gatesim.cli.codes import Exit
    from gatesim.report import check_json, run_text
    from gatesim.report.assemble import judged_rows
    from gatesim.report.judged import Judged
    from gatesim.requirements.judging import judge_trace
    from gatesim.trace import read, sha256

    talk.for_programs(style)
    raw = _bytes(trace)
    story = read(raw, trace)
    site = known.site(site_file)
    if story.site and story.site != site.name:
        talk.complain(f"{trace}: warning: it says that it is from {story.site!r}; it is judged as from {site.name!r}")
    for warning in known.warnings(site_file, site):
        talk.note(warning)
    rows = judge_trace(story.sections, site, signals=story.signals)
    result = Judged(
        trace,
        story.title or None,
        story.seed,
        judged_rows(rows, story.sections, known.requirements()),
        sha256=sha256(raw),
    )
    if story.foreign:
        talk.note(f"{trace}: {story.foreign} events are of kinds that gatesim does not know; no requirement sees them")
    if style == "json":
        talk.deliver(check_json.check_json([result], None), output)
    else:
        talk.render(lambda console: run_text.draw_verdicts(console, result, talk.loudness > 0), output)
    return Exit.DIFFERS if result.outcome == "differs" else Exit.AS_EXPECTED


def _bytes(path: str) -> bytes:
    from gatesim.errors import BadUsage

    try:
        with open(path, "rb") as file:
            return file.read()
    except OSError as error:
        raise BadUsage(f"cannot read {path}: {error.strerror}") from None
