"""`gatesim band SITE`: the bands of the edges' loops."""

from __future__ import annotations

import click

from gatesim.cli import options
from gatesim.cli.codes import Exit
from gatesim.cli.talk import Talk


@click.command("band")
@click.argument("site_file", metavar="SITE")
@options.result
@options.pass_talk
def COMMAND(talk: Talk, site_file: str, style: str, output: str | None) -> int:  # noqa: N802 - a value
    """Design the bands of a site's loops: how far each state's reading may spread, and whether the thresholds part
    them.  Exits with 1 where a state reaches over a threshold."""
    import json

    from gatesim.cli import known
    from gatesim.field.band import as_json, design

    site = known.site(site_file)
    for warning in known.warnings(site_file, site):
        talk.note(warning)
    made = design(site)
    if style == "json":
        talk.deliver(json.dumps(as_json(made), indent=1, ensure_ascii=False) + "\n", output)
    else:
        from gatesim.report.band_text import band_text

        talk.deliver(band_text(made), output)
    return Exit.DIFFERS if made.overlaps else Exit.AS_EXPECTED
