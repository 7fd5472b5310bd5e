"""`gatesim plan SITE`: the technician's plan."""

from __future__ import annotations

import click

from gatesim.cli import options
from gatesim.cli.talk import Talk


@click.command("plan")
@click.argument("site_file", metavar="SITE")
@options.units
@options.result
@options.pass_talk
def COMMAND(talk: Talk, site_file: str, style: str, output: str | None) -> None:  # noqa: N802 - a value
    """Plan a site: means per zone, reaction budgets, expected readings, fixing, and a commissioning sheet."""
    import json

    from gatesim.cli import known
    from gatesim.field.plan import as_json, plan

    for_programs = talk.for_programs(style)
    site = known.site(site_file)
    for warning in known.warnings(site_file, site):
        talk.note(warning)
    made = plan(site)
    if for_programs:
        talk.deliver(json.dumps(as_json(made), indent=1, ensure_ascii=False) + "\n", output)
    else:
        from gatesim.report.plan_text import plan_text

        talk.deliver(plan_text(made), output)
