"""`gatesim diff BEFORE AFTER`: two traces, event by event."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from gatesim.cli import options
from gatesim.cli.talk import Talk
from gatesim.cli.wanted import Wanted

if TYPE_CHECKING:
    from gatesim.plant.logic.contract import Roles
    from gatesim.report.told import Golden
    from gatesim.trace import Story


@click.command("diff")
@click.argument("before", metavar="BEFORE")
@click.argument("after", metavar="AFTER")
@options.seed
@options.roles
@options.result
@options.pass_talk
def COMMAND(  # noqa: N802 - a value, made by the decorators
    talk: Talk, before: str, after: str, seed: int | None, logic: Wanted, style: str, output: str | None
) -> int:
    """Set two traces side by side, event by event: what is missing, what is new, what came earlier or later.

    Each is a trace (`gatesim run --trace`), a golden trace (`gatesim check --accept`), or a scenario, which is run
    now. The exit code is 1 where they differ.
    """
    from gatesim.cli.codes import Exit
    from gatesim.cli.roles import load_roles
    from gatesim.report import diff_json, diff_text
    from gatesim.report.trace_diff import difference

    roles = load_roles(logic, talk.note_once)
    one, two = (_read(file, roles, seed) for file in (before, after))
    found = difference(one, two)
    if style == "json":
        talk.deliver(diff_json.diff_json(before, after, found), output)
    else:
        talk.render_lines(lambda console: diff_text.draw(console, found, frames=talk.loudness > 0), output)
    return Exit.AS_EXPECTED if found.same else Exit.DIFFERS


def _read(file: str, roles: Roles, seed: int | None) -> Story | Golden:
    from gatesim import trace
    from gatesim.cli import known
    from gatesim.cli.golden import read_golden
    from gatesim.errors import BadUsage
    from gatesim.report.assemble import story_of
    from gatesim.report.told import SUFFIX
    from gatesim.run import run_scenario
    from gatesim.scenario.read import SCENARIO_SUFFIX

    if file.endswith(SCENARIO_SUFFIX):
        return story_of(run_scenario(known.scenario(file), roles, seed=seed))
    if file.endswith(SUFFIX):
        return read_golden(file)
    try:
        with open(file, "rb") as opened:
            data = opened.read()
    except OSError as error:
        raise BadUsage(f"cannot read {file}: {error.strerror}") from None
    return trace.read(data, file)
