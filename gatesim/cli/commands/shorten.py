"""`gatesim shorten FILE`: the shortest story that still fails."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from gatesim.cli import options
from gatesim.cli.talk import Talk
from gatesim.cli.wanted import Wanted

if TYPE_CHECKING:
    from gatesim.plant.logic.contract import Roles
    from gatesim.search.shorten import Failure
    from gatesim.search.tries import Tries


@click.command("shorten")
@click.argument("file", metavar="FILE")
@click.option("--requirement", metavar="ID", default=None,
              help="Keep this requirement's failure.  [default: the first that fails]")
@click.option("--devices/--no-devices", default=True, show_default=True, help="Leave devices of the site out, too.")
@click.option("-o", "--output", metavar="FILE", default=None, help="Write the scenario here, whole or not at all.")
@options.loudness
@options.roles
@options.pass_talk
def COMMAND(  # noqa: N802 - a value, made by the decorators
    talk: Talk,
    file: str,
    requirement: str | None,
    devices: bool,
    output: str | None,
    logic: Wanted,
) -> int:
    """Leave out of a scenario whatever its failure does not need, and write what is left as a scenario.

    What is left fails the same requirement by the same name; its path to the site is meant from where FILE stands.
    """
    from gatesim.cli import known
    from gatesim.cli.codes import Exit
    from gatesim.cli.roles import load_roles
    from gatesim.scenario.write import text_of
    from gatesim.search.shorten import Failure, shorten
    from gatesim.search.tries import tries

    tree, site = _trees(file)
    roles = load_roles(logic, talk.note_once)
    with tries(site, known.scenario) as candidates:
        tried = _Tried(candidates, roles)
        failure = _failure(tried, file, tree, requirement)
        named = tree["site"]
        short = shorten({**tree, "expect": [_expected(failure)]}, lambda candidate: tried(candidate, failure),
                        site if devices and isinstance(named, str) else None)
        # Whatever else what is left fails stands in it, too: it can be kept as it is.
        found = tried.failures(short.tree)
        kept = {**short.tree, "expect": [_expected(Failure(*one)) for one in found.items()]}
    talk.note(f"{failure.requirement}: {failure.failure}; {short.steps_before} steps became {short.steps} "
              f"({short.tried} stories tried)")
    talk.deliver(text_of(kept), output)
    return Exit.AS_EXPECTED


def _trees(file: str) -> tuple[dict[str, Any], dict[str, Any] | None]:
    """The file's tree, and that of the site that it names by path.  BadInput with all faults of either."""
    from gatesim.cli import known
    from gatesim.scenario.strict import read_tree
    from gatesim.search.tries import site_tree

    scenario = known.scenario(file)
    tree = read_tree(Path(file), file).data
    if not isinstance(tree["site"], str):
        return tree, None
    return tree, site_tree(scenario.site_file)


class _Tried:
    """What candidates fail with this logic."""

    def __init__(self, tries: Tries, roles: Roles) -> None:
        self.tries, self.roles = tries, roles

    def failures(self, tree: dict[str, Any]) -> dict[str, str]:
        """What a candidate fails, by requirement; nothing where it does not read or its run dies."""
        from gatesim.errors import GatesimError
        from gatesim.search.laws import failures_of

        scenario = self.tries.scenario(tree)
        try:
            return {} if scenario is None else dict(failures_of(scenario, self.roles))
        except GatesimError:
            return {}

    def __call__(self, tree: dict[str, Any], failure: Failure) -> bool:
        return self.failures(tree).get(failure.requirement) == failure.failure


def _failure(tried: _Tried, file: str, tree: dict[str, Any], requirement: str | None) -> Failure:
    """What is to be kept.  NothingFound where nothing fails, BadUsage where the one asked for does not."""
    from gatesim.errors import BadUsage, NothingFound
    from gatesim.search.shorten import Failure

    found = tried.failures(tree)
    if not found:
        raise NothingFound(f"{file} fails no requirement: there is nothing to shorten")
    name = requirement or next(iter(found))
    if name not in found:
        raise BadUsage(f"{file} does not fail {name!r}; it fails: {', '.join(found)}")
    return Failure(name, found[name])


def _expected(failure: Failure) -> dict[str, str]:
    return {"requirement": failure.requirement, "outcome": "fail", "failure": failure.failure}


