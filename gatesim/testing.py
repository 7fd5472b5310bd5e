"""For tests of your own in Python: run a scenario, ask its trace, and hold it against requirements.

    from gatesim.testing import assert_met, run

    def test_the_gate_reverses():
        played = run("scenarios/first-look.scenario.yaml", controller=MyController)
        assert_met(played, "reversal-begun")

Instants and durations are microseconds.  What is wrong with a file, a name or a call is a
`gatesim.errors.GatesimError`.
"""

from __future__ import annotations

import os
import shlex
from collections.abc import Mapping
from difflib import get_close_matches
from functools import cached_property
from typing import Any

from gatesim.cli import known
from gatesim.cli.roles import adopt, load_roles
from gatesim.cli.wanted import Wanted
from gatesim.errors import BadUsage
from gatesim.plant.logic.contract import Roles
from gatesim.report.around import events_of, headline, told
from gatesim.report.assemble import judged_rows
from gatesim.report.judged import JudgedRow
from gatesim.requirements.verdict import Outcome, Verdict
from gatesim.run import RunResult, default_roles, run_scenario
from gatesim.scenario.model import Scenario
from gatesim.scenario.written import as_file
from gatesim.trace import Trace

__all__ = ["NotMet", "Played", "as_file", "assert_as_expected", "assert_met", "load", "run"]

MOST_TOLD = 3
"""Of so many verdicts the story is told in one failure; the others have their line."""


class NotMet(AssertionError):
    """A verdict is not what it had to be; the text tells the story around it."""

    def __init__(self, text: str, summary: str) -> None:
        super().__init__(text)
        self.summary = summary
        """The same on one line."""


class Played:
    """A scenario that was run: its scenario, its seed, its trace, and a verdict for every requirement."""

    def __init__(self, result: RunResult, again: tuple[str, ...] | None = ()) -> None:
        self.result, self.again = result, again
        """`again`: what stands on the command line that runs it again, beside file and seed; None: none does."""

    @property
    def scenario(self) -> Scenario:
        """What was run."""
        return self.result.scenario

    @property
    def seed(self) -> int:
        """The seed that it was run with."""
        return self.result.seed

    @cached_property
    def trace(self) -> Trace:
        """All that happened in the whole run, in order (not in the twins, in which one means is held silent)."""
        return Trace(self.result.sections[0].events)

    @cached_property
    def rows(self) -> Mapping[str, JudgedRow]:
        """Every requirement's verdict beside what the scenario expects of it, by its id."""
        rows = judged_rows(self.result.rows, self.result.sections, known.requirements())
        return {row.requirement.id: row for row in rows}

    def verdict(self, requirement: str) -> Verdict:
        """One requirement's verdict.  BadUsage where there is no such requirement."""
        return self._row(requirement).verdict

    def told(self, requirement: str) -> str:
        """The verdict with where it is expected, its margin, the story around it, the seed, and how to see it again."""
        row = self._row(requirement)
        place = next(one.section for one in self.result.rows if one.requirement == requirement)
        events = events_of(self.result.sections, place)
        head = f"{self.where(requirement)}: "
        return "\n".join([head + told(row, events, self.scenario.site), "", self.replay()])

    def where(self, requirement: str | None = None) -> str:
        """The file, and the line in which the requirement is expected, or else the list of what is."""
        named = self.scenario.file or self.scenario.title
        line = self.line(requirement)
        return f"{named}:{line}" if line else named

    def line(self, requirement: str | None = None) -> int:
        """The line (from 1) in which the requirement is expected, or else the list of what is; 0: of no file."""
        names = [one.requirement for one in self.scenario.expect]
        places = self.scenario.expected_at
        if not places:
            return 0
        return places[names.index(requirement) if requirement in names else -1][0]

    def replay(self) -> str:
        """How to see the same run again."""
        return replay(self.scenario.file, self.seed, self.again)

    def _row(self, requirement: str) -> JudgedRow:
        if requirement not in self.rows:
            near = get_close_matches(requirement, self.rows, 1)
            hint = f"; did you mean {near[0]!r}?" if near else "; `gatesim list requirements` has them all"
            raise BadUsage(f"no requirement is named {requirement!r}{hint}")
        return self.rows[requirement]


def replay(file: str, seed: int, again: tuple[str, ...] | None) -> str:
    """The seed, and the command that shows the same run again, where there is one (`again` as in `Played`)."""
    if not file:
        return f"seed {seed}"
    command = shlex.join(["gatesim", "run", file, "--seed", str(seed), *(again or ())])
    ours = "" if again is not None else " (and the logic that the test gave)"
    return f"seed {seed}; the same again: {command}{ours}"


def load(path: str | os.PathLike[str]) -> Scenario:
    """Read a scenario file with its site.  BadInput with all its faults."""
    return known.scenario(path)


def run(
    scenario: str | os.PathLike[str] | Scenario,
    *,
    controller: Any = None,
    receiver: Any = None,
    classifier: Any = None,
    seed: int | None = None,
) -> Played:
    """Run a scenario, given as a file or as a value, with logic of your own in any role.

    Logic is an object with `start` and `step`, a class or function that makes one, or what stands after
    `--controller` on the command line; None is the reference.  `seed`: in place of the scenario's own.  Raises
    BadInput, BadUsage, ModelError or LogicError.
    """
    told_scenario = scenario if isinstance(scenario, Scenario) else load(scenario)
    given = {"controller": controller, "receiver": receiver, "classifier": classifier}
    specs = {role: one for role, one in given.items() if isinstance(one, str)}
    objects = {role: one for role, one in given.items() if one is not None and not isinstance(one, str)}
    roles = load_roles(Wanted(**specs)) if specs else default_roles()
    roles = roles._replace(**{role: adopt(role, _name(one), one) for role, one in objects.items()})
    words = tuple(word for role, spec in specs.items() for word in (f"--{role}", spec))
    return run_with(told_scenario, roles, None if objects else words, seed)


def run_with(scenario: Scenario, roles: Roles, again: tuple[str, ...] | None, seed: int | None) -> Played:
    """Run a scenario with these roles; `again` as in `Played`."""
    return Played(run_scenario(scenario, roles, seed=seed), again)


def _name(given: Any) -> str:
    kind = given if isinstance(given, type) or not hasattr(given, "start") else type(given)
    return f"{getattr(kind, '__module__', '?')}:{getattr(kind, '__qualname__', repr(kind))}"


def assert_met(played: Played, *requirements: str) -> None:
    """Each of these requirements must pass; not exercised and undetermined are no pass.

    Raises NotMet, an AssertionError that tells the story around the verdict.
    """
    __tracebackhide__ = True
    if not requirements:
        raise BadUsage("assert_met(played, requirement, ...): no requirement is named")
    bad = [name for name in requirements if played.verdict(name).outcome is not Outcome.PASS]
    if bad:
        raise not_met(played, list(dict.fromkeys(bad)))


def assert_as_expected(played: Played) -> None:
    """Every verdict must be as the scenario expects it, and what it does not list must not fail.

    Raises NotMet, an AssertionError that tells the story around the verdicts.
    """
    __tracebackhide__ = True
    bad = [name for name, row in played.rows.items() if row.differs]
    if bad:
        raise not_met(played, bad)


def not_met(played: Played, names: list[str]) -> NotMet:
    """The failure that tells of these requirements."""
    heads = {name: headline(played.rows[name]) for name in names}
    texts = [played.told(name) for name in names[:MOST_TOLD]]
    texts += [f"{played.where(name)}: {name}: {heads[name]}" for name in names[MOST_TOLD:]]
    summary = heads[names[0]] if len(names) == 1 else "; ".join(f"{name}: {said}" for name, said in heads.items())
    return NotMet("\n\n".join(texts), summary)
