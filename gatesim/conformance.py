"""The conformance kit in a user's own pytest.

    from gatesim.conformance import Conformance

    class TestMine(Conformance):
        controller = "mine.py:Mine"        # or a class, an object, or "run:COMMAND ARGS"

Each scenario is one test, and each requirement that a scenario asks for; the sweep, the random stories and the table
are one each, where they are asked for.  What was not exercised, or not reached in time, passes no test.  Nothing here
needs pytest to be imported.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from functools import cache
from typing import Any, ClassVar

from gatesim.cli.conforming import Asked, read_stories, roles_of
from gatesim.cli.conforming import conform as _conform
from gatesim.cli.talk import Talk
from gatesim.cli.wanted import Wanted
from gatesim.search.conform import Conformance as Result
from gatesim.search.conform import Mark, Played, Standing

__all__ = ["Conformance", "Mark", "Result", "conform"]


def conform(controller: Any = None, *, receiver: Any = None, classifier: Any = None,
            site: str | os.PathLike[str] | None = None, scenarios: Sequence[str | os.PathLike[str]] = (),
            stories: int = 200, budget: float | None = 240, seed: int = 1, sweep: bool = True) -> Result:
    """Ask everything of logic under test: a spec as on the command line, a class, or an object of the contract.

    `site`: swept and told random stories (default: a shipped one); `scenarios`: files and folders (default: those that
    ship); `budget`: seconds for sweep and stories.  Raises BadInput, BadUsage, NothingFound; logic that dies stands in
    the result.
    """
    asked = Asked(roles_of(controller, receiver, classifier), None if site is None else os.fspath(site),
                  tuple([os.fspath(path) for path in scenarios]), stories, budget, seed, 1, sweep)
    return _conform(asked, Talk(loudness=-1))


class Conformance:
    """Base of a test class; see above.  What is asked once is kept for all its tests."""

    controller: ClassVar[Any] = None
    receiver: ClassVar[Any] = None
    classifier: ClassVar[Any] = None
    site: ClassVar[str | None] = None
    scenarios: ClassVar[Sequence[str]] = ()
    stories: ClassVar[int] = 200
    budget: ClassVar[float | None] = 240
    seed: ClassVar[int] = 1
    sweep: ClassVar[bool] = True
    table: ClassVar[bool] = False
    """Whether the controller's table is asked for: it must then be shown, as TABLE of its module."""

    def __init_subclass__(cls) -> None:
        """What is not asked for is no test: it can neither pass nor be skipped."""
        for asked, name in ((cls.sweep, "test_sweep"), (cls.stories, "test_random_stories"), (cls.table, "test_table")):
            if not asked:
                setattr(cls, name, None)

    @classmethod
    @cache
    def result(cls) -> Result:
        """What `conform` says, asked once for each class."""
        return conform(cls.controller, receiver=cls.receiver, classifier=cls.classifier, site=cls.site,
                       scenarios=cls.scenarios, stories=cls.stories, budget=cls.budget, seed=cls.seed, sweep=cls.sweep)

    def pytest_generate_tests(self, metafunc: Any) -> None:
        """One test for each scenario, and one for each requirement that one of them asks for."""
        files = Asked(Wanted(), scenarios=type(self).scenarios).files()
        if "scenario_file" in metafunc.fixturenames:
            metafunc.parametrize("scenario_file", files,
                                 ids=[os.path.basename(file).removesuffix(".scenario.yaml") for file in files])
        if "requirement" in metafunc.fixturenames:
            metafunc.parametrize("requirement", asked_for(files))

    def test_scenario(self, scenario_file: str) -> None:
        """Every verdict of the scenario is as it expects."""
        played: Played = next(one for one in self.result().played if one.file == scenario_file)
        wrong = [f"{row.requirement}: {row.why}" for row in played.rows if row.differs]
        assert played.as_expected, f"{played.file}: {played.died or '; '.join(wrong)}"

    def test_requirement(self, requirement: str) -> None:
        """The requirement is missed nowhere, and shown wherever it is asked for."""
        mark: Mark = next(one for one in self.result().marks if one.requirement == requirement)
        places = "; ".join(f"{miss.where}: {miss.failure or 'not shown'}" for miss in mark.misses)
        assert mark.standing is Standing.MET, f"{mark.standing.value}: {places or mark.why}"

    def test_it_moves_the_gate(self) -> None:
        """Logic that never moves the gate meets nothing."""
        assert any(one.moved for one in self.result().played), "the gate was never moved by an order"

    def test_sweep(self) -> None:
        """No row of the sweep is missed, and each was reached in time."""
        swept = self.result().swept
        assert not swept.died, swept.died
        assert not swept.absent, swept.absent
        assert not swept.missed, "; ".join(f"{row.fault} at {row.device}: {row.outcome.value}" for row in swept.missed)
        assert not swept.unreached + swept.partial, (
            f"{swept.unreached} rows were not reached in time, {swept.partial} in part only: give it a larger budget")

    def test_random_stories(self) -> None:
        """No random story breaks a requirement that the reference meets in it."""
        result = self.result()
        assert not result.died, result.died
        assert not result.laws.absent, result.laws.absent
        assert not result.laws.broken, "; ".join(
            f"{one.failure.requirement}: {one.failure.failure}: {one.tree['steps']}" for one in result.laws.broken)
        assert not result.laws.ended, "time was over before all were told: give it a larger budget or fewer stories"

    def test_table(self) -> None:
        """No state of the table is out of reach or a trap."""
        table = self.result().table
        assert not isinstance(table, str), table
        assert not table.findings.wrong, "an unreachable state, or a trap"


def asked_for(files: Sequence[str]) -> list[str]:
    """The requirements that these scenarios expect to pass."""
    from gatesim.scenario.model import Expected

    found = {one.requirement for story in read_stories(files) for one in story.scenario.expect
             if one.outcome is Expected.PASS}
    return sorted(found)
