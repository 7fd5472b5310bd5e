"""`gatesim list faults|requirements|controllers|doubles`."""

from __future__ import annotations

import click

from gatesim.cli import options
from gatesim.cli.talk import Talk

WHAT = ("faults", "requirements", "controllers", "doubles")


@click.command("list")
@click.argument("what", type=click.Choice(WHAT))
@options.result
@options.pass_talk
def COMMAND(talk: Talk, what: str, style: str, output: str | None) -> None:  # noqa: N802 - a value, made by the decorators
    """List fault kinds, requirements, controllers or defective doubles."""
    import json

    from gatesim.cli import known
    from gatesim.report import catalogue_text as catalogue

    note = ""
    if what == "faults":
        entries = [catalogue.fault_entry(kind) for kind in known.faults().values()]
        note = "Found only by a press test, or never: residual risk, which no device removes."
    elif what == "requirements":
        entries = [catalogue.requirement_entry(requirement) for requirement in known.requirements().values()]
    elif what == "doubles":
        entries = [catalogue.double_entry(double) for double in known.doubles().values()]
        note = "Wrong on purpose. `gatesim doubles PATH` says which of them your scenarios catch."
    else:
        entries = known.controllers()
        note = "Your own: --controller module:Name or file.py:Name."
    if style == "json":
        listed = {"format": "gatesim-list/1", what: [{"id": e.id, "sentence": e.sentence, **e.facts} for e in entries]}
        talk.deliver(json.dumps(listed, indent=1, ensure_ascii=False) + "\n", output)
    else:
        talk.render(lambda console: catalogue.draw_list(console, entries, note), output)
