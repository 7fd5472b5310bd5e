"""`gatesim schema site|scenario|check`."""

from __future__ import annotations

import click

from gatesim.cli import options
from gatesim.cli.talk import Talk


@click.command("schema")
@click.argument("kind", type=click.Choice(["site", "scenario", "check"]))
@click.option("-o", "--output", metavar="FILE", default=None, help="Write the schema here, whole or not at all.")
@options.loudness
@options.pass_talk
def COMMAND(talk: Talk, kind: str, output: str | None) -> None:  # noqa: N802 - a value, made by the decorators
    """Print the JSON Schema of a file kind, or of what `check --format json` prints."""
    import json

    from gatesim.cli import known
    from gatesim.report.check_schema import check_schema

    schema = check_schema() if kind == "check" else known.schema(kind)
    talk.deliver(json.dumps(schema, indent=2, ensure_ascii=False) + "\n", output)
