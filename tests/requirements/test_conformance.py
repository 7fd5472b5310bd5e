"""What every requirement must be, and the catalogue that finds them."""

from __future__ import annotations

import re
import sys
import types
from pathlib import Path
from typing import Any

import pytest

from gatesim.errors import ModelError
from gatesim.events import LeafStarted, Run
from gatesim.plant.site import Profile, Site
from gatesim.requirements import catalogue
from gatesim.requirements.requirement import Requirement, Standing
from gatesim.requirements.verdict import Measure, Outcome
from gatesim.trace import kinds

ALL = sorted(catalogue.requirements().items())


def test_there_are_enough() -> None:
    assert len(ALL) >= 24
    assert {requirement.run for _, requirement in ALL} == set(Run)


@pytest.mark.parametrize(("name", "requirement"), ALL)
def test_a_requirement_is_whole(name: str, requirement: Requirement) -> None:
    assert name == requirement.id
    assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", name)
    assert re.fullmatch(r"[A-Z].*[^.]\.", requirement.sentence)
    assert requirement.failures
    assert len(set(requirement.failures)) == len(requirement.failures)
    assert bool(requirement.quantity) is (requirement.measure is not Measure.ONE)
    assert set(requirement.needs) <= set(requirement.sees) <= set(kinds().values())
    assert type(requirement).__doc__


@pytest.mark.parametrize(("name", "requirement"), ALL)
def test_a_source_is_given(name: str, requirement: Requirement) -> None:
    limits = requirement.limits()
    assert limits
    assert set(limits) <= set(Profile)
    for source in (requirement.source, *(limit.source for limit in limits.values() if limit is not None)):
        assert bool(source.clause or source.document) or source.standing in (Standing.OURS, Standing.PRACTICE)
        assert not source.analogue or source.standing is Standing.READ
    for limit in limits.values():
        assert limit is None or (type(limit.value) is int and limit.value > 0)


@pytest.mark.parametrize(("name", "requirement"), ALL)
def test_a_fresh_state_says_not_exercised_and_copies_are_independent(
    name: str, requirement: Requirement, site: Site, pair: Site
) -> None:
    site = pair if requirement.whole_gate else site
    limit = next((limit.value for limit in requirement.limits().values() if limit is not None), None)
    state: Any = requirement.begin(limit, site)
    verdict = requirement.verdict(state, 1_000_000)
    assert verdict.outcome is Outcome.NOT_EXERCISED
    assert verdict.reason
    assert requirement.settled(state)
    other = state.copy()
    assert other == state
    for each in requirement.sees:
        if each is LeafStarted and hasattr(state, "driving"):
            from gatesim.events import Direction

            requirement.see(other, 0, 5, LeafStarted(Direction.OPENING, 0.0))
            assert other != state
            assert state == requirement.begin(limit, site)


def test_no_file_says_that_a_gate_complies_or_asks_for_faults() -> None:
    for file in Path(catalogue.__file__).parent.glob("*.py"):
        text = file.read_text()
        assert "complies" not in text
        assert not re.search(r"import.*gatesim\.plant\.fault|from gatesim\.plant\.fault|gatesim\.run\b", text)


def test_duplicates_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("one", "two"):
        made: Any = types.ModuleType(f"toys.{name}")
        made.REQUIREMENT = types.SimpleNamespace(id="same")
        monkeypatch.setitem(sys.modules, f"toys.{name}", made)
    monkeypatch.setitem(sys.modules, "toys", types.ModuleType("toys"))
    assert list(catalogue.gather("toys", ["one"])) == ["same"]
    with pytest.raises(ModelError, match="two requirements have the id same"):
        catalogue.gather("toys", ["one", "two"])
