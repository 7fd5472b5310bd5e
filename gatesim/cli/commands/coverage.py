"""`gatesim coverage PATH...`: how much of a controller's table scenarios reach, and a complete suite for it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from gatesim.cli import options
from gatesim.cli.talk import Talk
from gatesim.cli.wanted import Wanted

if TYPE_CHECKING:
    from gatesim.plant.logic.contract import Roles
    from gatesim.search.driven import Driven
    from gatesim.search.logic_cover import LogicCover
    from gatesim.search.suites import Distinct, Word


@click.command("coverage")
@click.argument("paths", nargs=-1, required=True, metavar="PATH...")
@click.option("--suite", "suite_file", metavar="FILE", default=None,
              help="Write the complete suite (W-method) here, as JSON lines.")
@click.option("--drive", "site_file", metavar="SITE", default=None,
              help="Drive this site's plant through the suite, and try wrong tables.")
@click.option("--moves", type=click.IntRange(min=100), default=20_000, show_default=True,
              help="With --drive: moves made to explore.")
@click.option("--budget", metavar="SECONDS", type=click.FloatRange(min=1), default=None,
              help="With --drive: time for it; what is not reached is not exercised.")
@options.seed
@options.roles
@options.result
@options.pass_talk
def COMMAND(  # noqa: N802 - a value, made by the decorators
    talk: Talk,
    paths: tuple[str, ...],
    suite_file: str | None,
    site_file: str | None,
    moves: int,
    budget: float | None,
    seed: int | None,
    logic: Wanted,
    style: str,
    output: str | None,
) -> int:
    """Show which states, transitions and pairs of transitions of the controller's table the scenarios reach.

    Before anything runs the table is looked at: unreachable states, transitions that others hide, states that
    nothing leaves or that do not lead back. For a controller of your own the module must have its table as TABLE
    (gatesim.plant.fsm.Table). Exit code 1 where a state is unreachable or a trap.
    """
    from gatesim.cli import known
    from gatesim.cli.codes import Exit
    from gatesim.cli.roles import load_roles
    from gatesim.cli.talk import write_whole
    from gatesim.errors import NothingFound
    from gatesim.report.coverage_json import suite_lines
    from gatesim.scenario.read import collect
    from gatesim.search.logic_cover import cover
    from gatesim.search.suites import distinct, w_method

    scenarios, _ = collect(paths)
    if not scenarios:
        raise NothingFound(f"no scenario (*.scenario.yaml) in {', '.join(paths)}")
    roles = load_roles(logic, talk.note_once)
    covered = cover((known.scenario(file) for file in talk.progress(scenarios, "running")), roles, seed)
    if not covered.questions:
        talk.note("the controller never asked its table (Table.fire or fire_by_library): nothing is counted")
    told = distinct(covered.machine)
    suite = w_method(covered.machine, told)
    name = logic.controller or "reference"
    if suite_file is not None:
        write_whole(suite_file, suite_lines(covered.machine, suite, name).encode())
        talk.note(f"written: {suite_file}")
    driven = None if site_file is None else _drive(site_file, roles, seed, moves, budget)
    _deliver(talk, covered, told, suite, driven, name, style, output)
    return Exit.DIFFERS if covered.findings.wrong else Exit.AS_EXPECTED


def _drive(site_file: str, roles: Roles, seed: int | None, moves: int, budget: float | None) -> Driven:
    from gatesim.cli import known
    from gatesim.search.driven import drive

    return drive(known.site(site_file), roles, 1 if seed is None else seed, moves, budget)


def _deliver(talk: Talk, covered: LogicCover, told: Distinct, suite: tuple[Word, ...], driven: Driven | None,
             name: str, style: str, output: str | None) -> None:
    from gatesim import __version__
    from gatesim.report import coverage_json, coverage_text

    if style == "json":
        talk.deliver(coverage_json.coverage_json(covered, told, suite, driven, name, __version__), output)
    else:
        talk.render(lambda console: coverage_text.draw(console, covered, told, suite, driven, name, talk.loudness > 0),
                    output)
