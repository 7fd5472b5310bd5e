"""`gatesim diagram [PATH...]`: draw the state machine of a controller."""

from __future__ import annotations

import click

from gatesim.cli import options
from gatesim.cli.talk import Talk
from gatesim.cli.wanted import Wanted


@click.command("diagram")
@click.argument("paths", nargs=-1, metavar="PATH...")
@click.option("--run", "run_file", metavar="FILE", default=None, help="Highlight the path that this scenario takes.")
@click.option("--format", "style", type=click.Choice(["svg", "mermaid"]), default="svg", show_default=True,
              help="A picture, or text for pages that draw Mermaid.")
@click.option("-o", "--output", metavar="FILE", default=None, help="Write the result here, whole or not at all.")
@options.seed
@options.roles
@options.loudness
@options.pass_talk
def COMMAND(  # noqa: N802 - a value, made by the decorators
    talk: Talk, paths: tuple[str, ...], run_file: str | None, style: str, output: str | None, seed: int | None,
    logic: Wanted,
) -> None:
    """Draw the states and transitions of the controller's table.

    With PATH... the scenarios that they name or hold are run, and transitions that none of them exercises are marked.
    For a controller of your own the module must have its table as TABLE (gatesim.plant.fsm.Table).
    """
    from gatesim.cli import known
    from gatesim.cli.roles import load_roles
    from gatesim.errors import NothingFound
    from gatesim.report.state_marks import Marks
    from gatesim.report.state_mermaid import mermaid
    from gatesim.report.state_svg import svg
    from gatesim.scenario.read import collect
    from gatesim.search.logic_cover import cover, path
    from gatesim.search.tap import table_of

    roles = load_roles(logic, talk.note_once)
    table = table_of(roles.controller)
    marks = Marks(f"States of the controller ({logic.controller or 'reference'})")
    if paths:
        scenarios, _ = collect(paths)
        if not scenarios:
            raise NothingFound(f"no scenario (*.scenario.yaml) in {', '.join(paths)}")
        covered = cover((known.scenario(file) for file in talk.progress(scenarios, "running")), roles, seed)
        marks = marks._replace(used=covered.rows, scenarios=len(scenarios))
        if not covered.questions:
            talk.note("the controller never asked its table (Table.fire or fire_by_library): all is never exercised")
    if run_file is not None:
        marks = marks._replace(path=path(known.scenario(run_file), roles, seed), run=run_file)
    talk.deliver(mermaid(table, marks) if style == "mermaid" else svg(table, marks), output)
