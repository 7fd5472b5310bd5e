"""Reading, running and judging one file, with every failure of it turned into a result and an exit code."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from gatesim.cli import known
from gatesim.cli.codes import Exit, code_of
from gatesim.errors import BadInput, GatesimError, Trouble
from gatesim.plant.logic.contract import Roles
from gatesim.report.assemble import assemble
from gatesim.report.judged import Judged
from gatesim.run import RunResult, run_scenario


class Done(NamedTuple):
    """A result and what it means for the shell."""

    result: Judged
    code: Exit


class Ran(NamedTuple):
    """A file's result; `run` is None where it did not run.  `warnings` are about its site."""

    done: Done
    run: RunResult | None
    warnings: tuple[str, ...] = ()


def judge_file(file: str, roles: Roles, seed: int | None) -> Ran:
    """Judge one scenario file."""
    title: str | None = None
    warnings: tuple[str, ...] = ()
    try:
        scenario = known.scenario(file)
        title = scenario.title
        warnings = known.warnings(scenario.file if scenario.overrides else scenario.site_file or file, scenario.site)
        run = run_scenario(scenario, roles, seed=seed)
    except GatesimError as error:
        return Ran(Done(Judged(file, title, seed, errors=_troubles(file, error)), code_of(error)), None, warnings)
    result = assemble(file, run, known.requirements(), known.faults())
    return Ran(Done(result, Exit.DIFFERS if result.outcome == "differs" else Exit.AS_EXPECTED), run, warnings)


def judge_sites(files: Iterable[str]) -> tuple[list[Done], list[str]]:
    """Read sites: (results of the broken ones, warnings about the others)."""
    broken: list[Done] = []
    warnings: list[str] = []
    for file in files:
        try:
            warnings += known.warnings(file, known.site(file))
        except GatesimError as error:
            broken.append(Done(Judged(file, None, None, errors=_troubles(file, error)), code_of(error)))
    return broken, warnings


def _troubles(file: str, error: GatesimError) -> tuple[Trouble, ...]:
    if isinstance(error, BadInput):
        return error.troubles
    return (Trouble(file, 0, 0, f"{type(error).__name__}: {error}"),)
