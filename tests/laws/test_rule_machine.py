"""The laws hold whatever a gate is told; each planted defect breaks one."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, seed, settings
from hypothesis.stateful import run_state_machine_as_test

from gatesim.plant.logic.contract import Roles

sys.path.insert(0, str(Path(__file__).parent))

from machine import AnythingMachine, Gate, TurnsMachine
from planted import PLANTED, Planted
from stories import references

# Nothing is shrunk: the story that breaks a law is short already, and is told in full.
CALM = settings(derandomize=True, deadline=None, database=None, max_examples=60, stateful_step_count=15,
                phases=[Phase.generate], report_multiple_bugs=False, suppress_health_check=list(HealthCheck))
SEEKING = settings(CALM, max_examples=150, derandomize=False)


@pytest.mark.slow
@pytest.mark.parametrize("machine", [AnythingMachine, TurnsMachine])
def test_whatever_a_gate_is_told(machine: type[Gate]) -> None:
    run_state_machine_as_test(machine, settings=CALM)


@pytest.mark.slow
@pytest.mark.parametrize("planted", PLANTED, ids=lambda planted: planted.name)
def test_a_planted_defect_breaks_its_law(planted: Planted) -> None:
    def roles() -> Roles:
        return references(**{role: kind() for role, kind in planted.roles})

    parts: dict[str, Any] = {"roles": staticmethod(roles)}
    if planted.fit is not None:
        parts["fit"] = staticmethod(planted.fit)
    with pytest.raises(AssertionError, match=planted.found):
        seek(planted.machine, parts)


def seek(first: type[Gate], parts: dict[str, Any]) -> None:
    """Tell defective gates stories until one breaks a law.

    What stories come up follows from the seed and from the constants of all code that is loaded, so a single seed may
    miss a rare one; the other machine and further seeds come to its help.
    """
    for turn in range(20):
        for machine in sorted((AnythingMachine, TurnsMachine), key=lambda one: one is not first):
            run_state_machine_as_test(seed(turn)(type("Defective", (machine,), dict(parts))), settings=SEEKING)
