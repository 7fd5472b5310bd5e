"""`gatesim settings`."""

from __future__ import annotations

import click

from gatesim.cli import options
from gatesim.cli.talk import Talk


@click.command("settings")
@options.result
@options.pass_talk
def COMMAND(talk: Talk, style: str, output: str | None) -> None:  # noqa: N802 - a value, made by the decorators
    """Show the settings in force, and where each comes from.

    The command line goes before GATESIM_* variables, these before the file; in each, what is said for one command
    before what is said for all. The file is gatesim.toml, or [tool.gatesim] of pyproject.toml, of the nearest folder
    upwards that has it.
    """
    import json
    import os
    from pathlib import Path

    from gatesim.cli.main import all_options
    from gatesim.cli.settings import FORMAT, settings

    context = click.get_current_context()
    known = all_options(context.find_root())
    found = settings(os.environ, Path.cwd(), lambda: known)
    rows = [
        (one.option, command, one.value, one.source)
        for command in known
        for one in found.of(command, known[command]).values()
    ]
    merged: dict[tuple[str, str, str], list[str]] = {}
    for option, command, value, source in rows:
        merged.setdefault((option, json.dumps(value, ensure_ascii=False), source), []).append(command)
    if style == "json":
        listed = [{"option": option, "value": json.loads(value), "from": source, "commands": commands}
                  for (option, value, source), commands in sorted(merged.items())]
        said = {"format": FORMAT, "settings": listed}
        talk.deliver(json.dumps(said, indent=1, ensure_ascii=False) + "\n", output)
        return
    lines = [f"{option} = {value}  ({source}; for {', '.join(commands)})"
             for (option, value, source), commands in sorted(merged.items())]
    talk.deliver("\n".join(lines or ["nothing is set: no GATESIM_* variable, no gatesim.toml, no [tool.gatesim]"])
                 + "\n", output)
