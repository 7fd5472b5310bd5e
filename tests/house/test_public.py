"""The public surface is frozen: `public.json` says what users rely on.

Changed on purpose: `.venv/bin/python tests/house/test_public.py` writes the file anew; the changelog says what.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

FROZEN = Path(__file__).with_name("public.json")


def surface() -> dict[str, Any]:
    """What users rely on."""
    import click

    import gatesim
    from gatesim import conformance, pytest_plugin, strategies, testing
    from gatesim.bench.remote import VERSION
    from gatesim.cli import known
    from gatesim.cli.codes import Exit
    from gatesim.cli.main import PROGRAM
    from gatesim.cli.settings import FORMAT as SETTINGS_FORMAT
    from gatesim.plant.logic import contract
    from gatesim.report import (
        bench_text,
        check_json,
        compare_json,
        conform_json,
        coverage_json,
        diff_json,
        doubles_json,
        history_json,
        run_json,
        told,
        wiring_text,
    )
    from gatesim.scenario.shapes import SCENARIO_FORMAT, SITE_FORMAT
    from gatesim.trace import FORMAT

    context = click.Context(PROGRAM)
    commands = {name: PROGRAM.get_command(context, name) for name in PROGRAM.list_commands(context)}
    roles = [
        name
        for name, kind in vars(contract).items()
        if isinstance(kind, type) and hasattr(kind, "_fields") and kind.__module__ == contract.__name__
    ]
    return {
        "package": sorted(gatesim.__all__),
        "testing": sorted(testing.__all__),
        "strategies": sorted(strategies.__all__),
        "pytest options": sorted(pytest_plugin.OPTIONS),
        "conformance": sorted(conformance.__all__),
        "commands": {
            name: sorted(option for parameter in command.params for option in parameter.opts)
            for name, command in commands.items()
            if command is not None
        },
        "styles": {
            name: list(choice.choices)
            for name, command in commands.items()
            if command is not None
            for parameter in command.params
            if parameter.name == "style" and isinstance(choice := parameter.type, click.Choice)
        },
        "formats": sorted((FORMAT, SITE_FORMAT, SCENARIO_FORMAT, check_json.FORMAT, compare_json.FORMAT,
                           conform_json.FORMAT, coverage_json.FORMAT,
                           coverage_json.SUITE_FORMAT, diff_json.FORMAT, doubles_json.FORMAT, history_json.FORMAT,
                           run_json.FORMAT, SETTINGS_FORMAT, told.FORMAT, bench_text.FORMAT, wiring_text.FORMAT,
                           f"gatesim-logic/{VERSION}")),
        "exit codes": {code.name: int(code) for code in Exit},
        "contract": {name: list(getattr(contract, name)._fields) for name in sorted(roles)},
        "requirements": {name: sorted(requirement.failures) for name, requirement in known.requirements().items()},
        "faults": sorted(known.faults()),
        "doubles": sorted(known.doubles()),
    }


def test_the_public_surface_is_as_written() -> None:
    assert surface() == json.loads(FROZEN.read_text())


def test_everything_public_is_there() -> None:
    import gatesim

    assert all(getattr(gatesim, name) is not None for name in gatesim.__all__)


if __name__ == "__main__":
    FROZEN.write_text(json.dumps(surface(), indent=1, ensure_ascii=False) + "\n")
