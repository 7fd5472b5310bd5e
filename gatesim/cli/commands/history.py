"""`gatesim history [BEFORE AFTER]`: sweeps and checks kept, and two of them compared."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from gatesim.cli import options
from gatesim.cli.talk import Talk

if TYPE_CHECKING:
    from gatesim.search.store import Kept


@click.command("history")
@click.argument("before", required=False)
@click.argument("after", required=False)
@options.store
@options.margin_loss
@options.result
@options.pass_talk
def COMMAND(  # noqa: N802 - a value, made by the decorators
    talk: Talk, before: str | None, after: str | None, store: str | None, percent: float, style: str,
    output: str | None
) -> int:
    """List the sweeps and checks that are kept, or compare two sweeps row by row, two checks verdict by verdict.

    The exit code is 1 where something came out worse: graver, with less margin, proved less, or missing.
    """
    from gatesim.cli import project
    from gatesim.cli.codes import Exit
    from gatesim.errors import BadUsage
    from gatesim.report import history_json, history_text
    from gatesim.search.store import Kind, opened

    with opened(project.store(store)) as kept:
        if before is None:
            listed = kept.listed()
            if style == "json":
                talk.deliver(history_json.list_json(listed), output)
            else:
                talk.render(lambda console: history_text.draw_list(console, listed), output)
            return Exit.AS_EXPECTED
        if after is None:
            raise BadUsage("two sweeps or checks are compared: name BEFORE and AFTER")
        old, new = kept.read(before), kept.read(after)
    if old.head.kind is not new.head.kind:
        raise BadUsage(f"{before!r} is a {old.head.kind.value}, and {after!r} is a {new.head.kind.value}")
    compare = _sweeps if old.head.kind is Kind.SWEEP else _checks
    return Exit.DIFFERS if compare(talk, old, new, percent, style, output) else Exit.AS_EXPECTED


def _sweeps(talk: Talk, old: Kept, new: Kept, percent: float, style: str, output: str | None) -> bool:
    """Tell; whether anything is worse."""
    from gatesim.report import history_json, history_text
    from gatesim.search.margins import changes

    found = changes(old, new)
    if style == "json":
        talk.deliver(history_json.sweeps_json(old, new, found, percent / 100), output)
    else:
        talk.render(lambda console: history_text.draw_sweeps(console, old, new, found, percent / 100), output)
    return any(one.is_worse(percent / 100) for one in found)


def _checks(talk: Talk, old: Kept, new: Kept, percent: float, style: str, output: str | None) -> bool:
    """Tell; whether anything is worse."""
    from gatesim.report import history_json, history_text
    from gatesim.report.against import against_object
    from gatesim.search.margins import compared

    found = compared(old.rows, new.rows, percent / 100)
    if style == "json":
        talk.deliver(history_json.checks_json(old, new, against_object(old.head, found, percent)), output)
    else:
        talk.render(lambda console: history_text.draw_checks(console, old, new, found, percent), output)
    return bool(found.losses)
