"""`gatesim explain ID`."""

from __future__ import annotations

from typing import Any

import click

from gatesim.cli import options
from gatesim.cli.talk import Talk


@click.command("explain")
@click.argument("name", metavar="ID")
@options.result
@options.pass_talk
def COMMAND(talk: Talk, name: str, style: str, output: str | None) -> None:  # noqa: N802 - a value, made by the decorators
    """Explain a requirement, a fault kind or a defective double: what it is, and where figures come from."""
    import json
    from difflib import get_close_matches

    from gatesim.cli import known
    from gatesim.errors import BadUsage
    from gatesim.report import catalogue_text as catalogue

    requirements, faults = known.requirements(), known.faults()
    doubles = known.doubles() if name not in requirements and name not in faults else {}
    if name not in requirements and name not in faults and name not in doubles:
        near = get_close_matches(name, [*requirements, *faults, *doubles], 3, 0.4)
        hint = (
            f"did you mean {', '.join(near)}?" if near else "see `gatesim list requirements` and `gatesim list faults`"
        )
        raise BadUsage(f"there is no requirement, fault kind or double {name!r}; {hint}")
    if style == "json":
        if name in requirements:
            entry = catalogue.requirement_entry(requirements[name])
        elif name in faults:
            entry = catalogue.fault_entry(faults[name])
        else:
            entry = catalogue.double_entry(doubles[name])
        said: dict[str, Any] = {
            "format": "gatesim-explain/1",
            "id": entry.id,
            "sentence": entry.sentence,
            **entry.facts,
        }
        talk.deliver(json.dumps(said, indent=1, ensure_ascii=False) + "\n", output)
    elif name in requirements:
        talk.render(lambda console: catalogue.draw_requirement(console, requirements[name]), output)
    elif name in faults:
        talk.render(lambda console: catalogue.draw_fault(console, faults[name]), output)
    else:
        talk.render(lambda console: catalogue.draw_double(console, doubles[name]), output)
