"""Random stories by Hypothesis: what breaks a requirement is shrunk; the site's own failures are excused."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest

from gatesim.bench.inside import UnderTest
from gatesim.cli import known
from gatesim.errors import LogicError
from gatesim.plant.logic.contract import Roles
from gatesim.plant.logic.controller_reference import ReferenceController
from gatesim.run import default_roles
from gatesim.search import laws as laws_room
from gatesim.search.laws import Laws, failures_of, hold
from gatesim.search.tries import site_tree, tries

sys.path.insert(0, str(Path(__file__).parents[2] / "docs" / "examples"))

import first_controller

SITE = str(Path(__file__).parents[2] / "scenarios" / "sites" / "orchard-row.site.yaml")
REFERENCE = default_roles()._replace(controller=ReferenceController(by_library=False))


def held(roles: Roles, stories: int, budget: float | None = None) -> Laws:
    with tries(site_tree(SITE), known.scenario) as tried:
        return hold(known.site(SITE), roles, 1, stories, budget, tried)


@pytest.mark.slow
def test_a_broken_requirement_comes_with_a_short_story_that_a_file_tells(tmp_path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(laws_room, "MOST", 1)
    second = first_controller.Second  # it looks at no fault
    roles = REFERENCE._replace(controller=UnderTest("controller", "Second", second(), second))
    laws = held(roles, 25)
    assert laws.broken
    for broken in laws.broken:
        assert len(broken.tree["steps"]) <= 5
        assert broken.failure in failures_of(broken.scenario, roles)
        assert broken.failure.requirement not in {one.requirement for one in failures_of(broken.scenario, REFERENCE)}
        kept = {(one["requirement"], one["failure"]) for one in broken.tree["expect"]}
        assert kept == set(failures_of(broken.scenario, roles))
    assert list(tmp_path.iterdir()) == []  # Hypothesis leaves nothing where the user stands


@pytest.mark.slow
def test_the_reference_breaks_nothing_that_is_its_own() -> None:
    laws = held(REFERENCE, 40)
    assert laws.broken == ()
    assert laws.stories > 20
    assert not laws.ended


def test_without_time_nothing_is_told_and_that_is_said() -> None:
    laws = held(REFERENCE, 5, 0.0)
    assert laws.ended
    assert laws.stories == 0


def test_without_hypothesis_it_is_not_exercised(monkeypatch) -> None:
    monkeypatch.setitem(sys.modules, "hypothesis", None)
    laws = held(REFERENCE, 5)
    assert laws.absent == "Hypothesis is not here: install gatesim[laws]"
    assert laws.stories == 0


class Dies(ReferenceController):
    def step(self, state: Any, seen: Any, now: float) -> Any:
        raise ZeroDivisionError("the fuse")


def test_logic_that_dies_is_an_error() -> None:
    with pytest.raises(LogicError, match="ZeroDivisionError: the fuse"):
        held(REFERENCE._replace(controller=UnderTest("controller", "Dies", Dies(), Dies)), 5)


def test_what_the_reference_fails_as_well_is_excused(monkeypatch) -> None:
    monkeypatch.setattr(laws_room, "failures_of", lambda told, roles: (laws_room.Failure("peak-force", "too high"),))
    laws = held(REFERENCE, 3)
    assert laws.broken == ()
    assert laws.excused == laws.stories > 0
