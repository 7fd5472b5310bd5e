"""Where two controllers differ: found, shortened, and never called equal."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from gatesim.bench.inside import UnderTest
from gatesim.bench.scan import FixedScan, ScanSettings
from gatesim.cli import known
from gatesim.errors import LogicError
from gatesim.plant.logic.contract import Roles
from gatesim.plant.logic.controller_reference import ReferenceController
from gatesim.requirements.catalogue import requirements
from gatesim.run import default_roles
from gatesim.search.compare import Compared, Effort, Pair, compare
from gatesim.search.doubles.catalogue import doubles
from gatesim.search.outputs import By, Noted, Put, differ
from gatesim.search.tries import site_tree, tries

SITES = Path(__file__).parents[2] / "scenarios" / "sites"
REFERENCE = default_roles()._replace(controller=ReferenceController(by_library=False))


def compared(second: Roles, *, site: str = "mill-lane", stories: int = 60, moves: int = 0, **more: Any) -> Compared:
    file = str(SITES / f"{site}.site.yaml")
    with tries(site_tree(file), known.scenario) as tried:
        return compare(known.site(file), Pair(REFERENCE, second, **more), 1, Effort(stories, moves), tried)


@pytest.mark.slow
@pytest.mark.parametrize(("name", "site"), [
    ("controller-hold-latches", "mill-lane"), ("controller-edge-triggered", "mill-lane"),
    ("controller-ignores-beams", "ferry-steps"),
])
def test_a_defective_double_is_told_from_the_reference_by_a_short_story(name, site) -> None:
    found = compared(doubles()[name].roles(REFERENCE), site=site)
    assert found.difference is not None
    assert found.found is not None
    assert len(found.found.steps) <= min(4, found.steps_before)
    assert found.pair.difference(found.found) == found.difference


def test_two_equal_ones_are_not_called_equal_but_say_how_much_was_tried() -> None:
    found = compared(default_roles()._replace(controller=ReferenceController(by_library=False)), stories=12, moves=60)
    assert found.difference is None
    assert found.tried["random"] == 12
    assert found.tried["driven"] > 2
    assert not found.ended




def test_time_ends_it_and_that_is_said() -> None:
    file = str(SITES / "mill-lane.site.yaml")
    with tries(site_tree(file), known.scenario) as tried:
        found = compare(known.site(file), Pair(REFERENCE, REFERENCE), 1, Effort(50, 50, 0.0), tried)
    assert found.ended
    assert found.tried == {"random": 0, "driven": 0}


def test_by_verdicts_only_what_a_requirement_says_counts() -> None:
    found = compared(doubles()["controller-believes-order"].roles(REFERENCE), by=By.VERDICTS, stories=10)
    assert found.difference is not None
    assert set(found.difference.members) <= set(requirements())
    assert found.difference.first != found.difference.second


def test_slack_forgives_a_scan() -> None:
    scanned = REFERENCE._replace(controller=FixedScan("controller", ReferenceController(by_library=False),
                                                      ScanSettings(1_000, 0, 0)))
    assert compared(scanned, stories=3).difference is not None


class OtherWords(ReferenceController):
    """Refuses for reasons of its own."""

    def step(self, state: Any, seen: Any, now: float) -> Any:
        state, do = super().step(state, seen, now)
        return state, do._replace(refused=tuple([(command, origin, "sorry", "") for command, origin, *_ in do.refused]))


def test_another_text_is_a_difference_of_words_only() -> None:
    other = REFERENCE._replace(controller=OtherWords(by_library=False))
    assert compared(other, stories=6).difference is None
    found = compared(other, stories=6, by=By.WORDS)
    assert found.difference is not None
    assert found.difference.members == ("refused",)


class Dies(ReferenceController):
    def step(self, state: Any, seen: Any, now: float) -> Any:
        if any(one.level.value == "pressed" for one in seen.reports):
            raise ZeroDivisionError("the fuse")
        return super().step(state, seen, now)


def test_one_that_dies_is_told_with_the_story_as_it_was() -> None:
    found = compared(REFERENCE._replace(controller=UnderTest("controller", "Dies", Dies(), Dies)))
    assert found.difference is not None
    assert found.difference.died
    assert "ZeroDivisionError: the fuse" in found.difference.second[0]
    assert found.candidates == 0


# --- sequences of outputs ---------------------------------------------------------------------------------------------

SAID = ((), (), ())
NONE, ON = ("",) * 8, ("on",) * 8


def noted(*puts: Put) -> Noted:
    return Noted(puts, "")


def test_the_same_output_later_than_the_slack_is_a_difference() -> None:
    first, second = noted(Put(0, NONE, SAID), Put(100, ON, SAID)), noted(Put(0, NONE, SAID), Put(103, ON, SAID))
    assert differ(first, second, 1000, 3) is None
    found = differ(first, second, 1000, 2)
    assert found is not None
    assert (found.at, found.first[0], found.second[0]) == (100, "on", "")


def test_an_output_that_never_comes_is_one_unless_the_story_ends_first() -> None:
    first, second = noted(Put(0, NONE, SAID), Put(999, ON, SAID)), noted(Put(0, NONE, SAID))
    assert differ(first, second, 1000, 5) is None
    for one, other in ((first, second), (second, first)):
        found = differ(one, other, 5000, 5)
        assert found is not None
        assert found.at == 999


def test_what_is_told_counts_as_well() -> None:
    first, second = noted(Put(0, NONE, (("a",), (), ()))), noted(Put(0, NONE, SAID))
    found = differ(first, second, 1000, 1)
    assert found is not None
    assert (found.members, found.first, found.second) == (("refused",), ("a",), ("nothing",))


def test_a_death_is_one() -> None:
    found = differ(noted(), Noted((), "it burnt"), 1000, 1)
    assert found is not None
    assert found.died
    assert found.second == ("it burnt",)


def test_a_controller_that_dies_at_once_is_no_difference_of_verdicts() -> None:
    class AtOnce(ReferenceController):
        def start(self, settings: Any, kept: Any) -> Any:
            raise ZeroDivisionError

    with pytest.raises(LogicError, match="died in start"):
        compared(REFERENCE._replace(controller=UnderTest("controller", "X", AtOnce(), AtOnce)), by=By.VERDICTS)
