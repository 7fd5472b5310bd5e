"""The conformance kit in pytest: this file uses it as a user's would, and looks at what it says of bad logic."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest

from gatesim.conformance import Conformance, asked_for, conform
from gatesim.plant.logic.controller_reference import ReferenceController

ROOT = Path(__file__).parents[1]
FEW = tuple(str(ROOT / "scenarios" / f"{name}.scenario.yaml") for name in ("first-look", "hold-to-run"))


class TestReference(Conformance):
    """As in a user's own tests."""

    controller = ReferenceController
    scenarios = FEW
    stories = 5
    budget = None
    sweep = False
    table = True


class Second(Conformance):
    """Not collected by itself: logic with much amiss."""

    controller = f"{ROOT / 'docs' / 'examples' / 'first_controller.py'}:Second"
    scenarios = (*FEW, str(ROOT / "scenarios" / "lost-link-closing.scenario.yaml"))
    stories = 0
    sweep = False


def test_what_is_missed_fails_its_test() -> None:
    tests = Second()
    tests.test_scenario(FEW[0])
    tests.test_requirement("reversal-begun")
    tests.test_it_moves_the_gate()
    with pytest.raises(AssertionError, match="hold-stops-on-release: not exercised"):
        tests.test_scenario(FEW[1])
    with pytest.raises(AssertionError, match=r"lost-link-closing.*: device faulty"):
        tests.test_requirement("no-unsafe-start")
    with pytest.raises(AssertionError, match="not shown"):
        tests.test_requirement("hold-stops-on-release")


def test_what_is_not_asked_for_is_no_test_and_what_was_not_exercised_passes_none() -> None:
    assert Second.test_sweep is None
    assert Second.test_random_stories is None
    assert Second.test_table is None
    assert "hold-stops-on-release" in asked_for(FEW)
    assert "beam-reversal-begun" not in asked_for(FEW)
    with pytest.raises(AssertionError, match="never exercised"):
        Second().test_requirement("beam-reversal-begun")

    class Idle(Conformance):
        controller = Second.controller
        scenarios = FEW
        table = True

        @classmethod
        def result(cls) -> Any:
            return Second.result()

    for test, why in ((Idle().test_sweep, "not asked for"), (Idle().test_random_stories, "not asked for"),
                      (Idle().test_table, "has no TABLE")):
        with pytest.raises(AssertionError, match=why):
            test()


def test_one_that_dies_fails() -> None:
    class Dies(ReferenceController):
        def step(self, state: Any, seen: Any, now: float) -> Any:
            raise ZeroDivisionError("the fuse")

    found = conform(Dies, scenarios=FEW, stories=1, sweep=False)
    assert found.missed
    assert "the fuse" in found.deaths[0]
    assert found.died


def test_it_needs_no_pytest() -> None:
    text = (ROOT / "gatesim" / "conformance.py").read_text()
    assert "import pytest" not in text
    assert "pytest" in sys.modules
