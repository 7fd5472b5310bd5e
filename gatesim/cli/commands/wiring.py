"""`gatesim wiring SITE`: which input and output of a site is which coil, bit and register."""

from __future__ import annotations

import click

from gatesim.cli import options
from gatesim.cli.talk import Talk


@click.command("wiring")
@click.argument("file", metavar="SITE")
@click.option("--format", "style", type=click.Choice(["text", "csv", "json"]), default="text", show_default=True,
              help="For people, spreadsheets or programs.")
@click.option("-o", "--output", metavar="FILE", default=None, help="Write the result here, whole or not at all.")
@options.loudness
@options.pass_talk
def COMMAND(talk: Talk, file: str, style: str, output: str | None) -> int:  # noqa: N802 - made by the decorators
    """Show the wiring of a site as `gatesim bench` serves it: coils, discrete inputs and registers."""
    from gatesim.bench.wire.points import wiring
    from gatesim.cli import known
    from gatesim.plant.operator import controller_settings
    from gatesim.report import wiring_text

    site = known.site(file)
    found = wiring(controller_settings(site))
    if style == "text":
        talk.render_lines(lambda console: wiring_text.draw(console, site.name, found), output)
    else:
        talk.deliver(wiring_text.as_csv(found) if style == "csv" else wiring_text.as_json(site.name, found), output)
    return 0
